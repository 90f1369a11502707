#pragma once

#include <span>
#include <vector>

#include "src/report/frame.h"
#include "src/report/geometry.h"
#include "src/report/pictures.h"

namespace howl::picture {

/// The pieces of a curve that lie inside the panel, on the page. A point that has no place (not
/// finite, not positive on a logarithmic axis) breaks the curve. Where points are denser than the
/// page can show, each half unit keeps its first, lowest, highest and last.
std::vector<std::vector<Point>> visible_pieces(std::span<const PlotPoint> points,
                                               const Panel& panel);

/// The outline between two curves, bounded to a sane distance from the panel so that it can be
/// clipped there; empty where nothing of it has a place.
std::vector<Point> outline_between(std::span<const PlotPoint> upper,
                                   std::span<const PlotPoint> lower, const Panel& panel);

}  // namespace howl::picture
