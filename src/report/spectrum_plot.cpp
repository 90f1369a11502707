#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <optional>

#include "src/report/curve.h"
#include "src/report/frame.h"
#include "src/report/labels.h"
#include "src/report/plots.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr double kLeft = 84;
constexpr double kFootRoom = 66;
constexpr double kSwatch = 26;
constexpr double kLongestLabel = 150;
constexpr double kLineHeight = 15;

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
    curves.push_back({wrapped(series.label, kLongestLabel, 2, measure),
                      visible_pieces(series.points, panel), series_style(curves.size())});
  }
  return curves;
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
  return width == 0 ? 0 : width + kSwatch + 12;
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
    canvas.line({x, *centres[i]}, {x + kSwatch, *centres[i]}, pen_of(curves[i].style));
    double baseline = *centres[i] - labels[i].length / 2 + 0.82 * kLineHeight;
    for (const std::string& line : curves[i].label) {
      canvas.text({x + kSwatch + 6, baseline}, line, {});
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

/// At the top of its area, or beside it where that is narrow; gives the room of the name.
Box name_band(Canvas& canvas, const Box& area, const Box& panel) {
  const TextStyle style{.colour = palette().band, .bold = true, .halo = true};
  const double width = canvas.text_width("suspect band", style);
  const bool room_at_right = area.right() + 6 + width < panel.right();
  const double x = width + 8 < area.width ? area.centre().x - width / 2
                   : room_at_right        ? area.right() + 6
                                          : area.x - 6 - width;
  const Point anchor{x, area.y + 14};
  canvas.text(anchor, "suspect band", style);
  return canvas.text_box(anchor, "suspect band", style).grown(3);
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

/// Loudest first: those matter most, and place_callouts() serves the first ones best.
std::vector<SpectrumMark> marks_in_view(const SpectrumPicture& picture, const Panel& panel) {
  std::vector<SpectrumMark> marks;
  std::copy_if(picture.marks.begin(), picture.marks.end(), std::back_inserter(marks),
               [&](const SpectrumMark& mark) {
                 const auto at = panel.place(mark.at);
                 return at && panel.box.contains(*at);
               });
  std::stable_sort(marks.begin(), marks.end(),
                   [](const SpectrumMark& a, const SpectrumMark& b) { return a.at.y > b.at.y; });
  return marks;
}

/// Gives how many labels found no room.
std::size_t draw_marks(Canvas& canvas, const std::vector<SpectrumMark>& marks, const Panel& panel,
                       const std::vector<Box>& obstacles, const std::vector<Segment>& curves) {
  const TextStyle style{.align = Align::centre, .halo = true};
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, style); };
  std::vector<Callout> callouts;
  std::vector<std::string> labels;
  for (const SpectrumMark& mark : marks) {
    labels.push_back(elided(mark.label, 0.6 * panel.box.width, measure));
    callouts.push_back({*panel.place(mark.at), {measure(labels.back()) + 4, kLineHeight}});
  }
  const auto placed = place_callouts(callouts, panel.box.grown(-3), obstacles, curves);
  for (std::size_t i = 0; i < placed.size(); ++i) {
    if (placed[i]) canvas.line(placed[i]->leader.from, placed[i]->leader.to, {palette().rule, 0.9});
    canvas.mark(callouts[i].at, Shape::disc, 3.2, palette().ink);
  }
  for (std::size_t i = 0; i < placed.size(); ++i) {
    if (!placed[i]) continue;
    const Point middle = placed[i]->box.centre();
    canvas.text({middle.x, middle.y + 0.34 * kTextSize}, labels[i], style);
  }
  return static_cast<std::size_t>(
      std::count_if(placed.begin(), placed.end(), [](const auto& place) { return !place; }));
}

/// Opens the level axis upwards where the labels of marks would not fit above the loudest mark.
PlotAxis with_headroom(const SpectrumPicture& picture, double height) {
  PlotAxis y = picture.y;
  if (y.logarithmic) return y;
  double loudest = y.low;
  for (const SpectrumMark& mark : picture.marks) {
    if (mark.at.y <= y.high) loudest = std::max(loudest, mark.at.y);
  }
  const double rows = std::min(5.0, static_cast<double>(picture.marks.size()));
  const double share = (rows == 0 ? 0 : 40 + rows * kLineHeight) / height;
  y.high = std::max(y.high, (loudest - share * y.low) / (1 - share));
  return y;
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
  const PlotAxis y = with_headroom(picture, canvas.size().height - kFootRoom - top);
  Box box{kLeft, top, canvas.size().width - kMargin - kLeft,
          canvas.size().height - kFootRoom - top};
  box.width -= label_room(canvas, curves_of(canvas, picture, panel_of(box, picture.x, y)));
  const Panel panel = panel_of(box, picture.x, y);
  const std::vector<Curve> curves = curves_of(canvas, picture, panel);
  if (!any_visible(curves)) {
    return draw_nothing_to_show(canvas, heading, "no spectrum has two points within the axes");
  }

  const std::optional<Box> band = band_area(picture, panel);
  if (band) shade_band(canvas, *band);
  draw_x_ticks(canvas, panel, Grid::lines);
  draw_y_ticks(canvas, panel, Grid::lines);
  for (const Curve& curve : curves) {
    for (const auto& piece : curve.pieces) canvas.line(piece, pen_of(curve.style));
  }
  draw_axis_lines(canvas, panel);
  std::vector<Box> obstacles;
  if (band) obstacles.push_back(name_band(canvas, *band, box));
  const std::size_t unlabelled =
      draw_marks(canvas, marks_in_view(picture, panel), panel, obstacles, segments_of(curves));
  draw_names(canvas, curves, box);
  draw_x_title(canvas, panel, picture.x);
  draw_y_title(canvas, panel, picture.y, box.width);
  draw_note(canvas, note_of(picture.series.size() - curves.size(), unlabelled));
}

}  // namespace howl::picture
