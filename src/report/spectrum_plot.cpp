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

Pen pen_of(const SeriesStyle& style) { return {style.colour, 1.7, style.dash}; }

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
    labels.push_back({end, kLineHeight * static_cast<double>(std::max<std::size_t>(1, curve.label.size()))});
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

/// The band's area with its name at the top; gives the room of the name.
std::vector<Box> draw_band(Canvas& canvas, const Interval& band, const Panel& panel) {
  const auto low = panel.x.position(band.low);
  const auto high = panel.x.position(band.high);
  const Box& box = panel.box;
  if (!low || !high || *low > *high || *low > box.right() || *high < box.x) return {};
  const double left = std::max(*low, box.x);
  const double right = std::min(*high, box.right());
  canvas.fill(Box{left, box.y, right - left, box.height}, palette().shade);
  for (const double edge : {left, right}) {
    canvas.line({edge, box.y}, {edge, box.bottom()}, {palette().band, 0.8, {2, 2}});
  }
  const TextStyle style{.colour = palette().band, .bold = true};
  const double width = canvas.text_width("suspect band", style);
  const bool room_at_right = right + 6 + width < box.right();
  const double x = width + 8 < right - left ? (left + right - width) / 2
                   : room_at_right          ? right + 6
                                            : left - 6 - width;
  const Point anchor{x, box.y + 14};
  canvas.text(anchor, "suspect band", style);
  return {canvas.text_box(anchor, "suspect band", style).grown(3)};
}

std::vector<Point> clutter_of(const std::vector<Curve>& curves) {
  std::vector<Point> points;
  for (const Curve& curve : curves) {
    for (const auto& piece : curve.pieces) points.insert(points.end(), piece.begin(), piece.end());
  }
  return points;
}

/// Loudest first: those matter most, and place_callouts() serves the first ones best.
std::vector<SpectrumMark> marks_in_view(const SpectrumPicture& picture, const Panel& panel) {
  std::vector<SpectrumMark> marks;
  std::copy_if(picture.marks.begin(), picture.marks.end(), std::back_inserter(marks),
               [&](const SpectrumMark& mark) {
                 const auto at = panel.place(mark.at);
                 return at && panel.box.contains(*at);
               });
  std::stable_sort(marks.begin(), marks.end(), [](const SpectrumMark& a, const SpectrumMark& b) {
    return a.at.y > b.at.y;
  });
  return marks;
}

/// Gives how many labels found no room.
std::size_t draw_marks(Canvas& canvas, const std::vector<SpectrumMark>& marks, const Panel& panel,
                       std::vector<Box> obstacles, const std::vector<Point>& clutter) {
  const TextStyle style{.align = Align::centre, .halo = true};
  const auto measure = [&](std::string_view text) { return canvas.text_width(text, style); };
  std::vector<Callout> callouts;
  std::vector<std::string> labels;
  for (const SpectrumMark& mark : marks) {
    labels.push_back(elided(mark.label, 0.6 * panel.box.width, measure));
    callouts.push_back({*panel.place(mark.at), {measure(labels.back()) + 4, kLineHeight}});
  }
  const auto placed = place_callouts(callouts, panel.box.grown(-3), obstacles, clutter);
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

std::string note_of(std::size_t hidden_series, std::size_t hidden_labels) {
  std::string note;
  if (hidden_series > 0) note += fmt::format("{} more spectra not shown. ", hidden_series);
  if (hidden_labels > 0) note += fmt::format("{} more tones marked without a label.", hidden_labels);
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
  Box box{kLeft, top, canvas.size().width - kMargin - kLeft, canvas.size().height - kFootRoom - top};
  box.width -= label_room(canvas, curves_of(canvas, picture, panel_of(box, picture.x, picture.y)));
  const Panel panel = panel_of(box, picture.x, picture.y);
  const std::vector<Curve> curves = curves_of(canvas, picture, panel);
  if (!any_visible(curves)) {
    return draw_nothing_to_show(canvas, heading, "no spectrum has two points within the axes");
  }

  std::vector<Box> obstacles;
  if (picture.marked_band) obstacles = draw_band(canvas, *picture.marked_band, panel);
  draw_x_ticks(canvas, panel, Grid::lines);
  draw_y_ticks(canvas, panel, Grid::lines);
  for (auto curve = curves.rbegin(); curve != curves.rend(); ++curve) {
    for (const auto& piece : curve->pieces) canvas.line(piece, pen_of(curve->style));
  }
  draw_axis_lines(canvas, panel);
  const std::size_t unlabelled = draw_marks(canvas, marks_in_view(picture, panel), panel,
                                            std::move(obstacles), clutter_of(curves));
  draw_names(canvas, curves, box);
  draw_x_title(canvas, panel, picture.x);
  draw_y_title(canvas, panel, picture.y, box.width);
  draw_note(canvas, note_of(picture.series.size() - curves.size(), unlabelled));
}

}  // namespace howl::picture
