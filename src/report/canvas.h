#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "src/report/colour.h"
#include "src/report/geometry.h"
#include "src/report/pictures.h"
#include "src/report/style.h"

struct _cairo;

namespace howl::picture {

struct Pen {
  Colour colour{};
  double width{1};
  std::vector<double> dash{};
  double opacity{1};
};

enum class Align { left, centre, right };

struct TextStyle {
  double size{kTextSize};
  Colour colour{palette().ink};
  bool bold{false};
  Align align{Align::left};
  bool halo{false};  ///< a paper-coloured rim, for words on top of a map
};

/// Premultiplied 0xAARRGGBB, row 0 at the top.
struct Image {
  std::size_t width{};
  std::size_t height{};
  std::vector<std::uint32_t> pixels;
};

/// An opaque pixel of an Image.
std::uint32_t pixel_of(Colour colour);

inline constexpr double kPngScale = 2;  ///< usual pixels a layout unit

/// One page of layout units, drawn by Cairo as PNG, SVG or PDF. All three come from the same calls,
/// with unhinted metrics, so that their layout is the same. All coordinates must be finite.
class Canvas {
 public:
  /// `title` goes into the file's metadata; the page starts as plain paper.
  Canvas(PictureFormat format, Size size, std::string_view title,
         double pixels_per_unit = kPngScale);
  ~Canvas();
  Canvas(Canvas&&) noexcept;
  Canvas& operator=(Canvas&&) noexcept;

  Size size() const;

  void line(std::span<const Point> points, const Pen& pen);
  void line(Point from, Point to, const Pen& pen);
  void fill(const Box& box, Colour colour, double opacity = 1);
  void fill(std::span<const Point> outline, Colour colour, double opacity = 1);
  /// Slanted hairlines: an area where nothing is known.
  void hatch(const Box& box);
  void mark(Point centre, Shape shape, double radius, Colour colour);
  /// Pixels without smoothing, stretched over `box`.
  void image(const Box& box, const Image& image);
  /// What `drawing` draws shows inside `box` only.
  void inside(const Box& box, const std::function<void()>& drawing);

  /// Any bytes: see printable(). Scripts that the font lacks come from others, as fontconfig says.
  double text_width(std::string_view text, const TextStyle& style) const;
  /// The room that text() takes; `anchor` is on the baseline, at the side that `style.align` names.
  Box text_box(Point anchor, std::string_view text, const TextStyle& style) const;
  void text(Point anchor, std::string_view text, const TextStyle& style);
  /// Where words stand so far; drawing code and tests keep these apart.
  const std::vector<Box>& texts() const;

  /// Ends the page and gives the file's bytes; the same calls give the same bytes. Call once.
  /// Throws Error (machine fault) where Cairo could not finish.
  std::string finish();

 private:
  friend Canvas canvas_on(_cairo* context, Size size);
  struct Page;
  explicit Canvas(std::unique_ptr<Page> page);
  std::unique_ptr<Page> page_;
};

}  // namespace howl::picture
