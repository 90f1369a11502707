#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <optional>

#include "src/report/curve.h"
#include "src/report/frame.h"
#include "src/report/plots.h"
#include "src/report/spectrum_marks.h"
#include "src/report/spread.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr double kCurveSwatch = 26;
constexpr double kLongestCurveLabel = 150;

struct Curve {
  std::vector<std::string> label;  ///< lines of text
  std::vector<std::vector<Point>> pieces;
  SeriesStyle style;
};

Pen pen_of(const SeriesStyle& style) { return {style.colour, 1.4, style.dash}; }

std::vector<Curve> curves_of(const Canvas& canvas, const SpectrumPicture& picture,
                             const Panel& panel) {
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, {}); };
  std::vector<Curve> curves;
  for (const SpectrumSeries& series : picture.series) {
    if (curves.size() == kMaxSeries) break;
    curves.push_back({wrapped(series.label, kLongestCurveLabel, 2, measure),
                      visible_pieces(series.points, panel), series_style(curves.size())});
  }
  return curves;
}

void draw_curves(Canvas& canvas, const std::vector<Curve>& curves) {
  for (const Curve& curve : curves) {
    for (const auto& piece : curve.pieces) canvas.line(piece, pen_of(curve.style));
  }
}

bool any_visible(const std::vector<Curve>& curves) {
  return std::any_of(curves.begin(), curves.end(),
                     [](const Curve& curve) { return !curve.pieces.empty(); });
}

double label_room(const Canvas& canvas, const std::vector<Curve>& curves) {
  double width = 0;
  for (const Curve& curve : curves) {
    for (const std::string& line : curve.label) {
      width = std::max(width, canvas.text_width(line, {}));
    }
  }
  return width == 0 ? 0 : width + kCurveSwatch + 12;
}

/// Each name level with the right end of its curve, behind a piece of the line it names.
void draw_names(Canvas& canvas, const std::vector<Curve>& curves, const Box& box) {
  std::vector<SpreadLabel> labels;
  for (const Curve& curve : curves) {
    const double end = curve.pieces.empty() ? box.bottom() : curve.pieces.back().back().y;
    labels.push_back(
        {end, kLineHeight * static_cast<double>(std::max<std::size_t>(1, curve.label.size()))});
  }
  const auto centres = spread(labels, {box.y, box.bottom(), 6, box.height});
  for (std::size_t i = 0; i < curves.size(); ++i) {
    if (!centres[i] || curves[i].label.empty()) continue;
    const double x = box.right() + 10;
    canvas.line({x, *centres[i]}, {x + kCurveSwatch, *centres[i]}, pen_of(curves[i].style));
    double baseline = *centres[i] - labels[i].length / 2 + 0.82 * kLineHeight;
    for (const std::string& line : curves[i].label) {
      canvas.text({x + kCurveSwatch + 6, baseline}, line, {});
      baseline += kLineHeight;
    }
  }
}

/// Where the band lies on the panel, if it shows at all.
std::optional<Box> band_area(const SpectrumPicture& picture, const Panel& panel) {
  if (!picture.marked_band) return std::nullopt;
  const auto low = panel.x.position(picture.marked_band->low);
  const auto high = panel.x.position(picture.marked_band->high);
  const Box& box = panel.box;
  if (!low || !high || *low > *high || *low > box.right() || *high < box.x) return std::nullopt;
  const double left = std::max(*low, box.x);
  return Box{left, box.y, std::min(*high, box.right()) - left, box.height};
}

void shade_band(Canvas& canvas, const Box& area) {
  canvas.fill(area, palette().shade);
  for (const double edge : {area.x, area.right()}) {
    canvas.line({edge, area.y}, {edge, area.bottom()}, {palette().band, 0.8, {2, 2}});
  }
}

constexpr std::string_view kBandName = "suspect band";
TextStyle band_name_style() { return {.colour = palette().band, .bold = true, .halo = true}; }

/// At the top of the band's area, or beside it where that is narrow.
Point band_name_anchor(const Canvas& canvas, const Box& area, const Box& panel) {
  const double width = canvas.text_width(kBandName, band_name_style());
  const bool room_at_right = area.right() + 6 + width < panel.right();
  const double x = width + 8 < area.width ? area.centre().x - width / 2
                   : room_at_right        ? area.right() + 6
                                          : area.x - 6 - width;
  return {x, area.y + 14};
}

Box band_name_box(const Canvas& canvas, const Box& area, const Box& panel) {
  return canvas.text_box(band_name_anchor(canvas, area, panel), kBandName, band_name_style());
}

void name_band(Canvas& canvas, const Box& area, const Box& panel) {
  canvas.text(band_name_anchor(canvas, area, panel), kBandName, band_name_style());
}

std::vector<Segment> segments_of(const std::vector<Curve>& curves) {
  std::vector<Segment> segments;
  for (const Curve& curve : curves) {
    for (const auto& piece : curve.pieces) {
      for (std::size_t i = 1; i < piece.size(); ++i) segments.push_back({piece[i - 1], piece[i]});
    }
  }
  return segments;
}

struct SpectrumLayout {
  Panel panel;
  std::vector<Curve> curves;
  std::optional<Box> band;
  std::vector<PlacedMark> marks;
};

/// `y` with at least `headroom` units above the loudest mark, on a panel of `height` units.
PlotAxis with_headroom(const SpectrumPicture& picture, double headroom, double height) {
  PlotAxis y = picture.y;
  double loudest = y.low;
  for (const SpectrumMark& mark : picture.marks) {
    if (mark.at.y <= y.high) loudest = std::max(loudest, mark.at.y);
  }
  const double share = headroom / height;
  if (!y.logarithmic) y.high = std::max(y.high, (loudest - share * y.low) / (1 - share));
  return y;
}

/// On `box`, which holds the names of the curves too.
SpectrumLayout lay_out(const Canvas& canvas, const SpectrumPicture& picture, Box box,
                       double headroom) {
  const PlotAxis y = with_headroom(picture, headroom, box.height);
  box.width -= label_room(canvas, curves_of(canvas, picture, panel_of(box, picture.x, y)));
  SpectrumLayout layout{panel_of(box, picture.x, y), {}, {}, {}};
  layout.curves = curves_of(canvas, picture, layout.panel);
  layout.band = band_area(picture, layout.panel);
  std::vector<Box> obstacles;
  if (layout.band) obstacles.push_back(band_name_box(canvas, *layout.band, box).grown(3));
  layout.marks =
      placed_marks(canvas, picture.marks, layout.panel, obstacles, segments_of(layout.curves));
  return layout;
}

/// With as little headroom as leaves every label its room.
SpectrumLayout tidiest_layout(const Canvas& canvas, const SpectrumPicture& picture,
                              const Box& box) {
  SpectrumLayout best = lay_out(canvas, picture, box, 0);
  for (double headroom = 40; headroom < 0.5 * box.height; headroom += 20) {
    if (untidiness(best.marks) == 0) break;
    SpectrumLayout other = lay_out(canvas, picture, box, headroom);
    if (untidiness(other.marks) < untidiness(best.marks)) best = std::move(other);
  }
  return best;
}

std::string note_of(std::size_t hidden_series, std::size_t hidden_labels) {
  std::string note;
  if (hidden_series > 0) note += fmt::format("Spectra not shown: {}. ", hidden_series);
  if (hidden_labels > 0) note += fmt::format("Marks without room for a label: {}.", hidden_labels);
  return note;
}

}  // namespace

Size page_size(const SpectrumPicture&) { return kPageSize; }

void draw_on(Canvas& canvas, const SpectrumPicture& picture) {
  const double heading = draw_heading(canvas, picture.title, picture.subtitle);
  for (const PlotAxis& axis : {picture.x, picture.y}) {
    if (const auto why = axis_fault(axis)) return draw_nothing_to_show(canvas, heading, *why);
  }
  const double top = std::round(heading + 34);
  const Box room{kPlotLeft, top, canvas.size().width - kMargin - kPlotLeft,
                 canvas.size().height - kFootRoom - top};
  const auto [panel, curves, band, marks] = tidiest_layout(canvas, picture, room);
  if (!any_visible(curves)) {
    return draw_nothing_to_show(canvas, heading, "no spectrum has two points within the axes");
  }

  if (band) shade_band(canvas, *band);
  draw_x_ticks(canvas, panel, Grid::lines);
  draw_y_ticks(canvas, panel, Grid::lines);
  draw_curves(canvas, curves);
  draw_axis_lines(canvas, panel);
  if (band) name_band(canvas, *band, panel.box);
  draw_marks(canvas, marks);
  draw_names(canvas, curves, panel.box);
  draw_x_title(canvas, panel, picture.x);
  draw_y_title(canvas, panel, picture.y, panel.box.width);
  draw_note(canvas, note_of(picture.series.size() - curves.size(), without_label(marks)));
}

}  // namespace howl::picture
