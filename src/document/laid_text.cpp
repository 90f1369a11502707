#include "src/document/laid_text.h"

#include <cairo.h>
#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>

#include "src/document/text.h"

namespace howl::document {
namespace {

constexpr const char* report_font = "DejaVu Sans";
constexpr const char* report_code_font = "DejaVu Sans Mono";
constexpr double line_pitch = 1.1;  ///< of the font's own line height
constexpr double points = PANGO_SCALE;

struct Unref {
  void operator()(gpointer object) const { g_object_unref(object); }
  void operator()(cairo_font_options_t* options) const { cairo_font_options_destroy(options); }
  void operator()(PangoFontDescription* font) const { pango_font_description_free(font); }
  void operator()(PangoAttrList* attributes) const { pango_attr_list_unref(attributes); }
  void operator()(PangoLayoutIter* iter) const { pango_layout_iter_free(iter); }
};
template <class T>
using Owned = std::unique_ptr<T, Unref>;

/// Metrics do not depend on where it is drawn, so that a page can be laid out before it exists.
Owned<PangoContext> make_text_context() {
  Owned<PangoContext> context(pango_font_map_create_context(pango_cairo_font_map_get_default()));
  const Owned<cairo_font_options_t> options(cairo_font_options_create());
  cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
  pango_cairo_context_set_font_options(context.get(), options.get());
  pango_cairo_context_set_resolution(context.get(), 72);
  pango_context_set_round_glyph_positions(context.get(), FALSE);
  return context;
}

/// Keeps numbers and their units in one line.
void hold_units(PangoAttrList* attributes, std::string_view text) {
  for (const UnitGap& gap : unit_gaps(text)) {
    PangoAttribute* const held = pango_attr_allow_breaks_new(FALSE);
    held->start_index = static_cast<guint>(gap.space - 1);
    held->end_index = static_cast<guint>(gap.unit_end);
    pango_attr_list_insert(attributes, held);
  }
}

Owned<PangoLayout> make_text_layout(std::string_view text, const TextLook& look) {
  const Owned<PangoContext> context = make_text_context();
  Owned<PangoLayout> layout(pango_layout_new(context.get()));
  const Owned<PangoFontDescription> font(pango_font_description_new());
  pango_font_description_set_family_static(
      font.get(), look.face == Face::code ? report_code_font : report_font);
  pango_font_description_set_weight(
      font.get(), look.face == Face::bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font.get(), look.size * points);
  pango_layout_set_font_description(layout.get(), font.get());
  pango_layout_set_wrap(layout.get(),
                        look.face == Face::code ? PANGO_WRAP_CHAR : PANGO_WRAP_WORD_CHAR);
  // A hash that is broken must not gain a hyphen.
  const Owned<PangoAttrList> attributes(pango_attr_list_new());
  pango_attr_list_insert(attributes.get(), pango_attr_insert_hyphens_new(FALSE));
  if (look.right) pango_layout_set_alignment(layout.get(), PANGO_ALIGN_RIGHT);
  std::string joined;
  for (const std::string& line : text_lines(text)) joined += (joined.empty() ? "" : "\n") + line;
  hold_units(attributes.get(), joined);
  pango_layout_set_attributes(layout.get(), attributes.get());
  pango_layout_set_text(layout.get(), joined.c_str(), static_cast<int>(joined.size()));
  return layout;
}

double width_of_layout(PangoLayout* layout) {
  PangoRectangle logical;
  pango_layout_get_extents(layout, nullptr, &logical);
  return static_cast<double>(logical.width) / points;
}

}  // namespace

struct LaidText::Layout {
  Owned<PangoLayout> layout;
};

LaidText::LaidText(std::string_view text, double width, const TextLook& look)
    : layout_(std::make_unique<Layout>()), colour_(look.colour) {
  layout_->layout = make_text_layout(text, look);
  PangoLayout* layout = layout_->layout.get();
  pango_layout_set_width(layout, static_cast<int>(std::ceil(width * points)));
  const Owned<PangoLayoutIter> iter(pango_layout_get_iter(layout));
  do {
    PangoRectangle logical;
    pango_layout_iter_get_line_extents(iter.get(), nullptr, &logical);
    const double height = static_cast<double>(logical.height) / points;
    const int ascent = pango_layout_iter_get_baseline(iter.get()) - logical.y;
    lines_.push_back({pango_layout_iter_get_line_readonly(iter.get()),
                      static_cast<double>(logical.x) / points,
                      static_cast<double>(ascent) / points + 0.5 * (line_pitch - 1.0) * height,
                      line_pitch * height});
  } while (pango_layout_iter_next_line(iter.get()) != FALSE);
}

LaidText::~LaidText() = default;
LaidText::LaidText(LaidText&&) noexcept = default;
LaidText& LaidText::operator=(LaidText&&) noexcept = default;

double LaidText::height() const {
  double sum = 0.0;
  for (const Line& line : lines_) sum += line.height;
  return sum;
}

void LaidText::draw(cairo_t* context, std::size_t line, double x, double y) const {
  const Line& it = lines_[line];
  cairo_set_source_rgb(context, colour_.red, colour_.green, colour_.blue);
  cairo_move_to(context, x + it.x, y + it.baseline);
  pango_cairo_show_layout_line(context, static_cast<PangoLayoutLine*>(it.shape));
}

WantedWidth wanted_width(std::string_view whole, const TextLook& look) {
  constexpr std::size_t enough_bytes = 600;  // is wider than any page
  const std::string_view text = whole.substr(0, enough_bytes);
  WantedWidth wanted{0.0, width_of_layout(make_text_layout(text, look).get())};
  if (look.face == Face::code) return wanted;
  for (const std::string& line : text_lines(text))
    for (std::size_t start = 0; start < line.size();) {
      const std::size_t end = std::min(line.find(' ', start), line.size());
      if (end > start)
        wanted.word = std::max(
            wanted.word,
            width_of_layout(make_text_layout(line.substr(start, end - start), look).get()));
      start = end + 1;
    }
  return wanted;
}

}  // namespace howl::document
