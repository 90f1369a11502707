#include "src/report/canvas.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <pango/pangocairo.h>

#include <array>
#include <cmath>
#include <cstring>
#include <numbers>
#include <optional>
#include <utility>

#include "src/errors.h"
#include "src/report/canvas_on.h"
#include "src/report/svg_text.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr const char* kFontFamily = "DejaVu Sans";
constexpr double kAscent = 0.76;  ///< of digits and capitals, as a fraction of the size
constexpr double kDescent = 0.24;

cairo_status_t append_bytes(void* to, const unsigned char* data, unsigned int length) {
  auto& bytes = *static_cast<std::string*>(to);
  const std::size_t old_size = bytes.size();
  bytes.resize(old_size + length);
  std::memcpy(bytes.data() + old_size, data, length);
  return CAIRO_STATUS_SUCCESS;
}

struct Release {
  void operator()(cairo_t* context) const { cairo_destroy(context); }
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
  void operator()(cairo_pattern_t* pattern) const { cairo_pattern_destroy(pattern); }
  void operator()(cairo_font_options_t* options) const { cairo_font_options_destroy(options); }
  void operator()(PangoLayout* layout) const { g_object_unref(layout); }
  void operator()(PangoFontDescription* font) const { pango_font_description_free(font); }
};
template <class T>
using Held = std::unique_ptr<T, Release>;

Held<cairo_surface_t> make_png(Size size, double scale) {
  const auto pixels = [&](double length) { return static_cast<int>(std::lround(length * scale)); };
  return Held<cairo_surface_t>(
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, pixels(size.width), pixels(size.height)));
}

Held<cairo_surface_t> make_svg(Size size, std::string* bytes) {
  Held<cairo_surface_t> surface(
      cairo_svg_surface_create_for_stream(append_bytes, bytes, size.width, size.height));
  cairo_svg_surface_set_document_unit(surface.get(), CAIRO_SVG_UNIT_PX);
  return surface;
}

/// The file carries no time of its own making: the same picture is the same file.
Held<cairo_surface_t> make_pdf(Size size, std::string* bytes, const std::string& title) {
  Held<cairo_surface_t> surface(
      cairo_pdf_surface_create_for_stream(append_bytes, bytes, size.width, size.height));
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATOR, "Howlpoint");
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, "");
  return surface;
}

Held<cairo_surface_t> make_surface(PictureFormat format, Size size, std::string* bytes,
                                   const std::string& title, double scale) {
  switch (format) {
    case PictureFormat::svg:
      return make_svg(size, bytes);
    case PictureFormat::pdf:
      return make_pdf(size, bytes, title);
    case PictureFormat::png:
      break;
  }
  return make_png(size, scale);
}

/// One line of text in the page's font, or in others where that lacks a script.
Held<PangoLayout> make_layout(cairo_t* context) {
  const Held<cairo_font_options_t> options(cairo_font_options_create());
  cairo_font_options_set_antialias(options.get(), CAIRO_ANTIALIAS_GRAY);
  cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
  Held<PangoLayout> layout(pango_cairo_create_layout(context));
  PangoContext* text = pango_layout_get_context(layout.get());
  pango_cairo_context_set_font_options(text, options.get());
  pango_cairo_context_set_resolution(text, 72);
  pango_context_set_round_glyph_positions(text, FALSE);
  pango_layout_context_changed(layout.get());
  pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
  return layout;
}

void set_words(PangoLayout* layout, const std::string& words, const TextStyle& style) {
  const Held<PangoFontDescription> font(pango_font_description_new());
  pango_font_description_set_family_static(font.get(), kFontFamily);
  pango_font_description_set_weight(font.get(),
                                    style.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font.get(), style.size * PANGO_SCALE);
  pango_layout_set_font_description(layout, font.get());
  pango_layout_set_text(layout, words.c_str(), static_cast<int>(words.size()));
}

double width_of(PangoLayout* layout) {
  PangoRectangle logical;
  pango_layout_get_extents(layout, nullptr, &logical);
  return static_cast<double>(logical.width) / PANGO_SCALE;
}

void set_colour(cairo_t* context, Colour colour, double opacity) {
  cairo_set_source_rgba(context, colour.red, colour.green, colour.blue, opacity);
}

void trace(cairo_t* context, std::span<const Point> points) {
  cairo_new_path(context);
  for (const Point& point : points) cairo_line_to(context, point.x, point.y);
}

void trace_shape(cairo_t* context, Point at, Shape shape, double r) {
  const auto corners = [&](std::initializer_list<Point> offsets) {
    cairo_new_path(context);
    for (const Point& p : offsets) cairo_line_to(context, at.x + r * p.x, at.y + r * p.y);
    cairo_close_path(context);
  };
  switch (shape) {
    case Shape::square:
      return corners({{-0.88, -0.88}, {0.88, -0.88}, {0.88, 0.88}, {-0.88, 0.88}});
    case Shape::triangle:
      return corners({{0, -1.2}, {1.1, 0.8}, {-1.1, 0.8}});
    case Shape::diamond:
      return corners({{0, -1.3}, {1.1, 0}, {0, 1.3}, {-1.1, 0}});
    case Shape::cross:
      return corners({{-1, -0.35},
                      {-0.35, -0.35},
                      {-0.35, -1},
                      {0.35, -1},
                      {0.35, -0.35},
                      {1, -0.35},
                      {1, 0.35},
                      {0.35, 0.35},
                      {0.35, 1},
                      {-0.35, 1},
                      {-0.35, 0.35},
                      {-1, 0.35}});
    case Shape::disc:
    case Shape::ring:
      cairo_new_path(context);
      cairo_arc(context, at.x, at.y, r, 0, 2 * std::numbers::pi);
      return;
  }
}

Held<cairo_surface_t> surface_of(const Image& image) {
  Held<cairo_surface_t> surface(cairo_image_surface_create(
      CAIRO_FORMAT_ARGB32, static_cast<int>(image.width), static_cast<int>(image.height)));
  if (cairo_surface_status(surface.get()) != CAIRO_STATUS_SUCCESS) return surface;
  cairo_surface_flush(surface.get());
  unsigned char* rows = cairo_image_surface_get_data(surface.get());
  const auto stride = static_cast<std::size_t>(cairo_image_surface_get_stride(surface.get()));
  for (std::size_t row = 0; row < image.height; ++row) {
    std::memcpy(rows + row * stride, image.pixels.data() + row * image.width,
                image.width * sizeof(std::uint32_t));
  }
  cairo_surface_mark_dirty(surface.get());
  return surface;
}

[[noreturn]] void fail(cairo_status_t status) {
  throw Error(Fault::machine, "picture", cairo_status_to_string(status),
              "free some memory, then draw it again");
}

}  // namespace

std::uint32_t pixel_of(Colour colour) {
  const auto byte = [](double v) { return static_cast<std::uint32_t>(std::lround(v * 255)); };
  return 0xFF000000U | byte(colour.red) << 16U | byte(colour.green) << 8U | byte(colour.blue);
}

struct Canvas::Page {
  PictureFormat format{};
  Size size;
  std::string title;
  std::string bytes;
  Held<cairo_surface_t> surface;
  Held<cairo_t> context;
  Held<PangoLayout> layout;
  std::vector<Box> texts;
  std::vector<std::string> words;
};

Canvas::Canvas(PictureFormat format, Size size, std::string_view title, double pixels_per_unit)
    : page_(std::make_unique<Page>()) {
  page_->format = format;
  page_->size = size;
  page_->title = printable(title);
  page_->surface = make_surface(format, size, &page_->bytes, page_->title, pixels_per_unit);
  page_->context.reset(cairo_create(page_->surface.get()));
  if (format == PictureFormat::png)
    cairo_scale(page_->context.get(), pixels_per_unit, pixels_per_unit);
  page_->layout = make_layout(page_->context.get());
  cairo_set_line_join(page_->context.get(), CAIRO_LINE_JOIN_ROUND);
  fill(Box{0, 0, size.width, size.height}, palette().paper);
}

Canvas::Canvas(std::unique_ptr<Page> page) : page_(std::move(page)) {}

Canvas canvas_on(cairo_t* context, Size size) {
  auto page = std::make_unique<Canvas::Page>();
  page->format = PictureFormat::pdf;
  page->size = size;
  page->context.reset(cairo_reference(context));
  page->layout = make_layout(context);
  cairo_set_line_join(context, CAIRO_LINE_JOIN_ROUND);
  return Canvas(std::move(page));
}

Canvas::~Canvas() = default;
Canvas::Canvas(Canvas&&) noexcept = default;
Canvas& Canvas::operator=(Canvas&&) noexcept = default;

Size Canvas::size() const { return page_->size; }

void Canvas::line(std::span<const Point> points, const Pen& pen) {
  cairo_t* context = page_->context.get();
  set_colour(context, pen.colour, pen.opacity);
  cairo_set_line_width(context, pen.width);
  cairo_set_dash(context, pen.dash.data(), static_cast<int>(pen.dash.size()), 0);
  trace(context, points);
  cairo_stroke(context);
}

void Canvas::line(Point from, Point to, const Pen& pen) { line(std::array{from, to}, pen); }

void Canvas::fill(const Box& box, Colour colour, double opacity) {
  fill(std::array{Point{box.x, box.y}, Point{box.right(), box.y}, Point{box.right(), box.bottom()},
                  Point{box.x, box.bottom()}},
       colour, opacity);
}

void Canvas::fill(std::span<const Point> outline, Colour colour, double opacity) {
  cairo_t* context = page_->context.get();
  set_colour(context, colour, opacity);
  trace(context, outline);
  cairo_fill(context);
}

void Canvas::hatch(const Box& box) {
  constexpr double apart = 6;
  fill(box, palette().unknown);
  inside(box, [&] {
    const Pen hairline{palette().rule, 0.5};
    for (double x = box.x - box.height; x < box.right(); x += apart) {
      line({x, box.bottom()}, {x + box.height, box.y}, hairline);
    }
  });
}

void Canvas::mark(Point centre, Shape shape, double radius, Colour colour) {
  cairo_t* context = page_->context.get();
  const bool hollow = shape == Shape::ring;
  trace_shape(context, centre, shape, radius);
  set_colour(context, hollow ? palette().paper : colour, 1);
  cairo_fill_preserve(context);
  set_colour(context, hollow ? colour : palette().paper, 1);
  cairo_set_dash(context, nullptr, 0, 0);
  cairo_set_line_width(context, hollow ? 1.8 : 0.8);
  cairo_stroke(context);
}

void Canvas::image(const Box& box, const Image& image) {
  const Held<cairo_surface_t> pixels = surface_of(image);
  cairo_t* context = page_->context.get();
  cairo_save(context);
  cairo_translate(context, box.x, box.y);
  cairo_scale(context, box.width / static_cast<double>(image.width),
              box.height / static_cast<double>(image.height));
  cairo_set_source_surface(context, pixels.get(), 0, 0);
  cairo_pattern_set_filter(cairo_get_source(context), CAIRO_FILTER_NEAREST);
  cairo_rectangle(context, 0, 0, static_cast<double>(image.width),
                  static_cast<double>(image.height));
  cairo_fill(context);
  cairo_restore(context);
}

void Canvas::inside(const Box& box, const std::function<void()>& drawing) {
  cairo_t* context = page_->context.get();
  cairo_save(context);
  cairo_rectangle(context, box.x, box.y, box.width, box.height);
  cairo_clip(context);
  drawing();
  cairo_restore(context);
}

double Canvas::text_width(std::string_view text, const TextStyle& style) const {
  set_words(page_->layout.get(), printable(text), style);
  return width_of(page_->layout.get());
}

Box Canvas::text_box(Point anchor, std::string_view text, const TextStyle& style) const {
  const double width = text_width(text, style);
  const double before = style.align == Align::left    ? 0
                        : style.align == Align::right ? width
                                                      : width / 2;
  return {anchor.x - before, anchor.y - kAscent * style.size, width,
          (kAscent + kDescent) * style.size};
}

void Canvas::text(Point anchor, std::string_view text, const TextStyle& style) {
  const std::string words = printable(text);
  if (words.empty()) return;
  const Box box = text_box(anchor, words, style);
  page_->texts.push_back(box);
  page_->words.push_back(words);
  cairo_t* context = page_->context.get();
  set_words(page_->layout.get(), words, style);
  PangoLayoutLine* const line = pango_layout_get_line_readonly(page_->layout.get(), 0);
  if (style.halo) {
    cairo_move_to(context, box.x, anchor.y);
    pango_cairo_layout_line_path(context, line);
    set_colour(context, palette().paper, 0.9);
    cairo_set_dash(context, nullptr, 0, 0);
    cairo_set_line_width(context, 3.5);
    cairo_stroke(context);
  }
  set_colour(context, style.colour, 1);
  cairo_move_to(context, box.x, anchor.y);
  pango_cairo_show_layout_line(context, line);
  cairo_new_path(context);
}

const std::vector<Box>& Canvas::texts() const { return page_->texts; }

std::string Canvas::finish() {
  cairo_show_page(page_->context.get());
  cairo_status_t status = cairo_status(page_->context.get());
  if (status == CAIRO_STATUS_SUCCESS && page_->format == PictureFormat::png) {
    status = cairo_surface_write_to_png_stream(page_->surface.get(), append_bytes, &page_->bytes);
  }
  page_->layout.reset();
  page_->context.reset();
  cairo_surface_finish(page_->surface.get());
  if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(page_->surface.get());
  if (status != CAIRO_STATUS_SUCCESS) fail(status);
  if (page_->format == PictureFormat::svg)
    return settled_svg(page_->bytes, page_->title, page_->words);
  return std::move(page_->bytes);
}

}  // namespace howl::picture
