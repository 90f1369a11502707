#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "src/report/canvas.h"
#include "src/report/geometry.h"
#include "src/report/pictures.h"
#include "src/report/scale.h"

namespace howl::picture {

/// What all pictures have around their data: heading, axes, grid, notes.

inline constexpr Size kPageSize{800, 500};
inline constexpr double kMargin = 28;
inline constexpr double kPlotLeft = 84;  ///< leaves room for tick labels
inline constexpr double kFootRoom = 66;  ///< below a plot: tick labels, title of the axis, note

/// An area with its two axes.
struct Panel {
  Box box;
  Scale x;
  Scale y;

  /// Nothing for a value that has no place; the place may lie outside the box.
  std::optional<Point> place(const PlotPoint& point) const;
};
/// Both axes must be without fault.
Panel panel_of(const Box& box, const PlotAxis& x, const PlotAxis& y);

/// Title and subtitle at the top left, each on at most two lines. Returns the y below them.
double draw_heading(Canvas& canvas, std::string_view title, std::string_view subtitle);

/// In place of a plot, between `top` and the foot of the page.
void draw_nothing_to_show(Canvas& canvas, double top, std::string_view why);

enum class Grid { lines, none };
/// Ticks and labels; lines across the panel with Grid::lines. Draw before the data.
void draw_x_ticks(Canvas& canvas, const Panel& panel, Grid grid, bool labelled = true);
void draw_y_ticks(Canvas& canvas, const Panel& panel, Grid grid, double spacing = 30);
/// Along the left and lower side.
void draw_axis_lines(Canvas& canvas, const Panel& panel);
/// Centred below the tick labels of the panel.
void draw_x_title(Canvas& canvas, const Panel& panel, const PlotAxis& axis);
/// Level above the panel's upper left corner, so that nobody has to tilt the head; at most `width`.
void draw_y_title(Canvas& canvas, const Panel& panel, const PlotAxis& axis, double width);

/// Small print at the lower left.
void draw_note(Canvas& canvas, std::string_view note);

}  // namespace howl::picture
