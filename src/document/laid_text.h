#pragma once

#include <cstddef>
#include <memory>
#include <string_view>
#include <vector>

#include "src/report/colour.h"

struct _cairo;

namespace howl::document {

enum class Face { plain, bold, code };

struct TextLook {
  double size{};  ///< pt
  picture::Colour colour{};
  Face face{};
  bool right{};  ///< flush right; text of scripts that run from the right is mirrored
};

/// A text broken into lines of one width (src/document/text.h says how it is cleaned), ready to be
/// drawn line by line, so that it can run on over pages. Fonts are fontconfig's for what the
/// report's own font lacks; a character that none has shows as a box.
class LaidText {
 public:
  LaidText(std::string_view text, double width, const TextLook& look);
  ~LaidText();
  LaidText(LaidText&&) noexcept;
  LaidText& operator=(LaidText&&) noexcept;

  std::size_t lines() const { return lines_.size(); }
  double line_height(std::size_t line) const { return lines_[line].height; }
  double height() const;
  /// With the upper left corner of the line at that place, in pt.
  void draw(_cairo* context, std::size_t line, double x, double y) const;

 private:
  struct Layout;
  struct Line {
    void* shape{};  ///< a PangoLayoutLine of the layout
    double x{};
    double baseline{};  ///< below the line's top
    double height{};
  };
  std::unique_ptr<Layout> layout_;
  std::vector<Line> lines_;
  picture::Colour colour_;
};

/// Widths that a text asks for: of its longest word, and of its longest line unbroken. Of a long
/// text only the beginning is asked.
struct WantedWidth {
  double word{};
  double line{};
};
WantedWidth wanted_width(std::string_view text, const TextLook& look);

}  // namespace howl::document
