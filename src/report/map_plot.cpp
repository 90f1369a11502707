#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <optional>

#include "src/report/curve.h"
#include "src/report/frame.h"
#include "src/report/heat_image.h"
#include "src/report/level_bar.h"
#include "src/report/plots.h"
#include "src/report/spread.h"
#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr double kMapAxisRoom = 50;
constexpr double kStripHeight = 64;
constexpr double kStripGap = 34;
constexpr double kBarWidth = 16;
constexpr double kBarRoom = kBarWidth + 54;
constexpr double kLongestLineLabel = 160;

std::optional<std::string> why_empty(const MapPicture& picture) {
  const Heatmap& map = picture.map;
  if (map.columns == 0 || map.rows == 0) return "the map has no cells";
  if (map.level_db.size() / map.columns != map.rows || map.level_db.size() % map.columns != 0) {
    return "the map does not hold as many levels as it has cells";
  }
  const auto known = [](float level) { return !std::isnan(level); };
  if (std::none_of(map.level_db.begin(), map.level_db.end(), known)) {
    return "no level is known anywhere on the map";
  }
  if (axis_fault({"the colour scale", "", picture.level_low_db, picture.level_high_db, false})) {
    return "the colour scale covers no range of levels";
  }
  std::optional<std::string> fault = axis_fault(picture.x);
  return fault ? fault : axis_fault(picture.y);
}

TextStyle line_label_style() { return {.size = kTextSize}; }
TextStyle inner_label_style() { return {.size = kTextSize, .bold = true, .halo = true}; }

struct Line {
  std::string label;
  std::vector<std::vector<Point>> pieces;

  Point end() const { return pieces.back().back(); }
  bool reaches_right_of(const Box& box) const { return end().x > box.right() - 1; }
};

std::vector<Line> visible_lines(const MapPicture& picture, const Panel& panel) {
  std::vector<Line> lines;
  for (const OverlayLine& line : picture.lines) {
    Line visible{printable(line.label), visible_pieces(line.points, panel)};
    if (!visible.pieces.empty()) lines.push_back(std::move(visible));
  }
  return lines;
}

/// Dashed, dark on light, so that it reads on any level and the tone under it stays in sight.
void draw_line(Canvas& canvas, const Line& line) {
  const std::vector<double> dash{5, 13};
  for (const Pen& pen : {Pen{palette().paper, 3.2, dash, 0.85}, Pen{palette().ink, 1.3, dash, 1}}) {
    for (const auto& piece : line.pieces) canvas.line(piece, pen);
  }
}

/// In the column to the right of the map, level with where the lines leave it.
void label_at_right(Canvas& canvas, const std::vector<Line>& lines, const Box& box, double width) {
  std::vector<SpreadLabel> labels;
  labels.reserve(lines.size());
  for (const Line& line : lines) labels.push_back({line.end().y, kTextSize});
  const auto centres = spread(labels, {box.y - 6, box.bottom() + 6, 4, 40});
  const auto measure = [&](std::string_view text) {
    return canvas.text_width(text, line_label_style());
  };
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (!centres[i]) continue;
    const double end_y = lines[i].end().y;
    canvas.line({box.right() + 1, end_y}, {box.right() + 10, *centres[i]}, {palette().rule, 0.9});
    canvas.text({box.right() + 13, *centres[i] + 0.36 * kTextSize},
                elided(lines[i].label, width, measure), line_label_style());
  }
}

/// Beside the end of a line that leaves the map before its right side.
void label_inside(Canvas& canvas, const Line& line, const Box& box, std::vector<Box>& taken) {
  const TextStyle style = inner_label_style();
  const Point end = line.end();
  const double width = canvas.text_width(line.label, style);
  const double left =
      std::clamp(end.x - width - 8, box.x + 6, std::max(box.x + 6, box.right() - width - 6));
  const Point anchor{left, std::clamp(end.y + 5, box.y + 14, box.bottom() - 6)};
  const Box room = canvas.text_box(anchor, line.label, style).grown(2);
  const auto hit = [&](const Box& other) { return other.overlaps(room); };
  if (!box.contains(room) || std::any_of(taken.begin(), taken.end(), hit)) return;
  taken.push_back(room);
  canvas.text(anchor, line.label, style);
}

void draw_bracket(Canvas& canvas, double x, double from, double to, double inwards) {
  const std::array bracket{Point{x + inwards, from}, Point{x, from}, Point{x, to},
                           Point{x + inwards, to}};
  canvas.line(bracket, {palette().paper, 5});
  canvas.line(bracket, {palette().band, 2.6});
}

/// Brackets on both sides of the map, with its name at the left one. Gives the room that the name
/// takes.
std::optional<Box> mark_band(Canvas& canvas, const Interval& band, const Panel& panel) {
  const auto low = panel.y.position(band.low);
  const auto high = panel.y.position(band.high);
  const Box& box = panel.box;
  if (!low || !high || *high > box.bottom() || *low < box.y || *high > *low) return std::nullopt;
  const double top = std::max(*high, box.y);
  const double bottom = std::min(*low, box.bottom());
  draw_bracket(canvas, box.x + 3, top, bottom, 7);
  draw_bracket(canvas, box.right() - 3, top, bottom, -7);
  TextStyle style = inner_label_style();
  style.colour = palette().band;
  const bool room_above = top - box.y > 20;
  const Point anchor{box.x + 8, room_above ? top - 6 : std::min(bottom + 15, box.bottom() - 5)};
  canvas.text(anchor, "suspect band", style);
  return canvas.text_box(anchor, "suspect band", style).grown(3);
}

void draw_map_lines(Canvas& canvas, const MapPicture& picture, const Panel& panel,
                    double label_width) {
  const std::vector<Line> lines = visible_lines(picture, panel);
  canvas.inside(panel.box, [&] {
    for (const Line& line : lines) draw_line(canvas, line);
  });
  std::vector<Box> taken;
  if (picture.marked_band) {
    if (const auto room = mark_band(canvas, *picture.marked_band, panel)) taken.push_back(*room);
  }
  std::vector<Line> leaving_right;
  for (const Line& line : lines) {
    if (line.reaches_right_of(panel.box)) {
      leaving_right.push_back(line);
    } else {
      label_inside(canvas, line, panel.box, taken);
    }
  }
  label_at_right(canvas, leaving_right, panel.box, label_width);
}

/// The range of the strip: all that is known, opened to round numbers, and never so narrow that a
/// steady engine looks restless.
std::optional<PlotAxis> strip_axis(std::span<const PlotPoint> points) {
  double low = 0;
  double high = 0;
  bool any = false;
  for (const PlotPoint& point : points) {
    if (!std::isfinite(point.x) || !std::isfinite(point.y)) continue;
    low = any ? std::min(low, point.y) : point.y;
    high = any ? std::max(high, point.y) : point.y;
    any = true;
  }
  if (!any) return std::nullopt;
  const double middle = (low + high) / 2;
  const double half = std::max({(high - low) / 2, 0.05 * std::abs(middle), 1.0});
  const double step = nice_step(half / 4);
  return PlotAxis{"Engine speed", "rpm", std::floor((middle - half) / step) * step,
                  std::ceil((middle + half) / step) * step, false};
}

void draw_strip(Canvas& canvas, const MapPicture& picture, const Panel& strip,
                const PlotAxis& axis) {
  draw_x_ticks(canvas, strip, Grid::lines);
  draw_y_ticks(canvas, strip, Grid::lines, 20);
  for (const auto& piece : visible_pieces(picture.speed_strip, strip)) {
    canvas.line(piece, {palette().ink, 1.8});
  }
  draw_axis_lines(canvas, strip);
  draw_y_title(canvas, strip, axis, 300);
}

double label_column(const Canvas& canvas, const MapPicture& picture, const Panel& trial) {
  double width = 0;
  for (const Line& line : visible_lines(picture, trial)) {
    if (!line.reaches_right_of(trial.box)) continue;
    width = std::max(width, canvas.text_width(line.label, line_label_style()));
  }
  return std::min(width, kLongestLineLabel);
}

void draw_grid_over(Canvas& canvas, const Panel& panel) {
  draw_x_ticks(canvas, panel, Grid::none, false);
  draw_y_ticks(canvas, panel, Grid::none);
}

bool has_unknown(const Heatmap& map) {
  return std::any_of(map.level_db.begin(), map.level_db.end(),
                     [](float level) { return std::isnan(level); });
}

struct MapLayout {
  Box map;
  double label_width{};
  std::optional<PlotAxis> strip;
};

MapLayout lay_out(const Canvas& canvas, const MapPicture& picture, double top) {
  MapLayout layout;
  if (!picture.speed_strip.empty()) layout.strip = strip_axis(picture.speed_strip);
  const double strip_room = layout.strip ? kStripHeight + kStripGap : 0;
  const double right = canvas.size().width - kMargin - kBarRoom - 14;
  layout.map = {kPlotLeft, top, right - kPlotLeft,
                canvas.size().height - kMapAxisRoom - strip_room - top};
  const double labels = label_column(canvas, picture, panel_of(layout.map, picture.x, picture.y));
  if (labels > 0) {
    layout.label_width = labels;
    layout.map.width = std::floor(layout.map.width - labels - 14);
  }
  return layout;
}

void draw_map(Canvas& canvas, const MapPicture& picture, const MapLayout& layout) {
  const Panel panel = panel_of(layout.map, picture.x, picture.y);
  const bool unknown = has_unknown(picture.map);
  if (unknown) canvas.hatch(layout.map);
  canvas.image(layout.map, heat_image(picture.map, panel, picture.x, picture.y,
                                      picture.level_low_db, picture.level_high_db));
  draw_grid_over(canvas, panel);
  draw_axis_lines(canvas, panel);
  draw_map_lines(canvas, picture, panel, layout.label_width);
  // The level's title, right-aligned over its bar, takes the other half of the page.
  draw_y_title(canvas, panel, picture.y, canvas.size().width / 2 - kMargin);
  const double bar_x = canvas.size().width - kMargin - kBarRoom;
  draw_level_bar(canvas, {{bar_x, layout.map.y, kBarWidth, layout.map.height},
                          picture.level_low_db,
                          picture.level_high_db,
                          picture.level_unit,
                          unknown});
}

}  // namespace

Size page_size(const MapPicture&) { return kPageSize; }

void draw_on(Canvas& canvas, const MapPicture& picture) {
  const double heading = draw_heading(canvas, picture.title, picture.subtitle);
  if (const auto why = why_empty(picture)) return draw_nothing_to_show(canvas, heading, *why);
  const MapLayout layout = lay_out(canvas, picture, std::round(heading + 34));
  draw_map(canvas, picture, layout);
  Panel lowest = panel_of(layout.map, picture.x, picture.y);
  if (layout.strip) {
    const Box box{layout.map.x, layout.map.bottom() + kStripGap, layout.map.width, kStripHeight};
    lowest = panel_of(box, picture.x, *layout.strip);
    draw_strip(canvas, picture, lowest, *layout.strip);
  } else {
    draw_x_ticks(canvas, lowest, Grid::none);
  }
  draw_x_title(canvas, lowest, picture.x);
}

}  // namespace howl::picture
