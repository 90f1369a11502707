#include "src/report/frame.h"

#include <array>
#include <cmath>
#include <vector>

#include "src/report/words.h"

namespace howl::picture {
namespace {

constexpr double kTickLength = 4;
constexpr double kLineSpacing = 1.3;

Measure measure_with(const Canvas& canvas, const TextStyle& style) {
  return [&canvas, style](std::string_view text) { return canvas.text_width(text, style); };
}

/// Lines downwards from the baseline `y`; returns the baseline below the last.
double draw_lines(Canvas& canvas, Point at, const std::vector<std::string>& lines,
                  const TextStyle& style) {
  for (const std::string& line : lines) {
    canvas.text(at, line, style);
    at.y += kLineSpacing * style.size;
  }
  return at.y;
}

Pen grid_pen() { return {palette().grid, 0.8}; }
Pen axis_pen() { return {palette().rule, 1}; }

}  // namespace

std::optional<Point> Panel::place(const PlotPoint& point) const {
  const std::optional<double> across = x.position(point.x);
  const std::optional<double> up = y.position(point.y);
  if (!across || !up) return std::nullopt;
  return Point{*across, *up};
}

Panel panel_of(const Box& box, const PlotAxis& x, const PlotAxis& y) {
  return {box, scale_of(x, box.x, box.right()), scale_of(y, box.bottom(), box.y)};
}

double draw_heading(Canvas& canvas, std::string_view title, std::string_view subtitle) {
  const double width = canvas.size().width - 2 * kMargin;
  const TextStyle large{.size = kTitleSize, .bold = true};
  const TextStyle plain{.size = kSubtitleSize, .colour = palette().quiet};
  double y = draw_lines(canvas, {kMargin, 40},
                        wrapped(title, width, 2, measure_with(canvas, large)), large);
  y = draw_lines(canvas, {kMargin, y - 3}, wrapped(subtitle, width, 2, measure_with(canvas, plain)),
                 plain);
  return y - kSubtitleSize;
}

void draw_nothing_to_show(Canvas& canvas, double top, std::string_view why) {
  const Box box{kMargin, top + 16, canvas.size().width - 2 * kMargin,
                canvas.size().height - top - 16 - kMargin};
  canvas.fill(box, palette().grid);
  const TextStyle large{.size = 16, .bold = true, .align = Align::centre};
  const TextStyle plain{.size = kSubtitleSize, .align = Align::centre};
  const std::vector<std::string> lines =
      wrapped(why, box.width - 140, 3, measure_with(canvas, plain));
  const double height = 62 + 17 * static_cast<double>(lines.size());
  const Point middle = box.centre();
  canvas.fill(Box{box.x + 1, box.y + 1, box.width - 2, box.height - 2}, palette().paper);
  canvas.text({middle.x, middle.y - height / 2 + 34}, "Nothing to show", large);
  draw_lines(canvas, {middle.x, middle.y - height / 2 + 58}, lines, plain);
}

void draw_x_ticks(Canvas& canvas, const Panel& panel, Grid grid, bool labelled) {
  const TextStyle style{.align = Align::centre};
  const Box& box = panel.box;
  const auto line_at = [&](double value, double width) {
    const double x = *panel.x.position(value);
    canvas.line({x, box.y}, {x, box.bottom()}, {palette().grid, width});
  };
  if (grid == Grid::lines) {
    for (const double value : decade_lines(panel.x)) line_at(value, 0.4);
  }
  for (const Tick& tick : axis_ticks(panel.x, measure_with(canvas, style), 12, 36)) {
    const double x = *panel.x.position(tick.value);
    if (grid == Grid::lines) line_at(tick.value, grid_pen().width);
    canvas.line({x, box.bottom()}, {x, box.bottom() + kTickLength}, axis_pen());
    if (labelled) canvas.text({x, box.bottom() + 18}, tick.label, style);
  }
}

void draw_y_ticks(Canvas& canvas, const Panel& panel, Grid grid, double spacing) {
  const TextStyle style{.align = Align::right};
  const Box& box = panel.box;
  const auto line_at = [&](double value, double width) {
    const double y = *panel.y.position(value);
    canvas.line({box.x, y}, {box.right(), y}, {palette().grid, width});
  };
  if (grid == Grid::lines) {
    for (const double value : decade_lines(panel.y)) line_at(value, 0.4);
  }
  const auto height = [](const std::string&) { return kTextSize; };
  for (const Tick& tick : axis_ticks(panel.y, height, 6, spacing)) {
    const double y = *panel.y.position(tick.value);
    if (grid == Grid::lines) line_at(tick.value, grid_pen().width);
    canvas.line({box.x - kTickLength, y}, {box.x, y}, axis_pen());
    canvas.text({box.x - 8, y + 0.36 * style.size}, tick.label, style);
  }
}

void draw_axis_lines(Canvas& canvas, const Panel& panel) {
  const Box& box = panel.box;
  canvas.line(
      std::array{Point{box.x, box.y}, Point{box.x, box.bottom()}, Point{box.right(), box.bottom()}},
      axis_pen());
}

void draw_x_title(Canvas& canvas, const Panel& panel, const PlotAxis& axis) {
  const TextStyle style{.colour = palette().quiet, .align = Align::centre};
  const std::string words = elided(axis_title(axis), panel.box.width, measure_with(canvas, style));
  canvas.text({panel.box.centre().x, panel.box.bottom() + 37}, words, style);
}

void draw_y_title(Canvas& canvas, const Panel& panel, const PlotAxis& axis, double width) {
  const TextStyle style{.colour = palette().quiet};
  canvas.text({kMargin, panel.box.y - 11},
              elided(axis_title(axis), width, measure_with(canvas, style)), style);
}

void draw_note(Canvas& canvas, std::string_view note) {
  const TextStyle style{.size = kNoteSize, .colour = palette().quiet};
  canvas.text({kMargin, canvas.size().height - 12},
              elided(note, canvas.size().width - 2 * kMargin, measure_with(canvas, style)), style);
}

}  // namespace howl::picture
