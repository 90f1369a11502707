#include "src/report/curve.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>

namespace howl::picture {
namespace {

constexpr double kColumn = 0.5;

bool same(Point a, Point b) { return std::hypot(a.x - b.x, a.y - b.y) < 1e-9; }

void append(std::vector<std::vector<Point>>& pieces, const Segment& part) {
  if (pieces.empty() || !same(pieces.back().back(), part.from)) pieces.push_back({part.from});
  pieces.back().push_back(part.to);
}

/// First, lowest, highest and last of points that share a column, in their order.
void append_column(std::vector<Point>& out, std::span<const Point> column) {
  const auto below = [](Point a, Point b) { return a.y < b.y; };
  auto [low, high] = std::minmax_element(column.begin(), column.end(), below);
  if (high < low) std::swap(low, high);
  out.push_back(column.front());
  if (low != column.begin()) out.push_back(*low);
  if (high != low && high != column.end() - 1) out.push_back(*high);
  if (column.size() > 1 && low != column.end() - 1) out.push_back(column.back());
}

std::vector<Point> thinned(const std::vector<Point>& piece) {
  const auto column_of = [](Point p) { return std::floor(p.x / kColumn); };
  std::vector<Point> out;
  for (std::size_t first = 0; first < piece.size();) {
    std::size_t next = first + 1;
    while (next < piece.size() && column_of(piece[next]) == column_of(piece[first])) ++next;
    append_column(out, std::span(piece).subspan(first, next - first));
    first = next;
  }
  return out;
}

}  // namespace

std::vector<std::vector<Point>> visible_pieces(std::span<const PlotPoint> points,
                                               const Panel& panel) {
  std::vector<std::vector<Point>> pieces;
  std::optional<Point> before;
  for (const PlotPoint& point : points) {
    const std::optional<Point> here = panel.place(point);
    if (before && here) {
      if (const auto part = clipped({*before, *here}, panel.box)) append(pieces, *part);
    }
    before = here;
  }
  for (std::vector<Point>& piece : pieces) piece = thinned(piece);
  return pieces;
}

std::vector<Point> outline_between(std::span<const PlotPoint> upper,
                                   std::span<const PlotPoint> lower, const Panel& panel) {
  const Box near = panel.box.grown(1000);
  std::vector<Point> outline;
  const auto add = [&](const PlotPoint& point) {
    if (const auto at = panel.place(point)) {
      outline.push_back(
          {std::clamp(at->x, near.x, near.right()), std::clamp(at->y, near.y, near.bottom())});
    }
  };
  std::for_each(upper.begin(), upper.end(), add);
  std::for_each(lower.rbegin(), lower.rend(), add);
  return outline;
}

}  // namespace howl::picture
