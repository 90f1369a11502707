#include "src/report/side_labels.h"

#include <algorithm>
#include <cstddef>
#include <numeric>
#include <utility>

namespace howl::picture {
namespace {

using Indices = std::vector<std::size_t>;

/// What is nearest to `values`, by least squares, and falls nowhere: neighbours that fall are
/// pooled (Ayer, Brunk, Ewing, Reid and Silverman 1955, Ann. Math. Stat. 26(4), 641-647).
std::vector<double> never_falling(const std::vector<double>& values) {
  struct Pool {
    double sum{};
    std::size_t count{};
    double mean() const { return sum / static_cast<double>(count); }
  };
  std::vector<Pool> pools;
  for (const double value : values) {
    Pool pool{value, 1};
    while (!pools.empty() && pools.back().mean() > pool.mean()) {
      pool = {pool.sum + pools.back().sum, pool.count + pools.back().count};
      pools.pop_back();
    }
    pools.push_back(pool);
  }
  std::vector<double> result;
  for (const Pool& pool : pools) result.insert(result.end(), pool.count, pool.mean());
  return result;
}

/// A height apart or more, and as near to what is wanted as that and the columns allow.
std::vector<double> spread_out(std::vector<double> wanted, const SideColumns& columns) {
  const auto rise = [&](std::size_t i) { return static_cast<double>(i) * columns.height; };
  if (wanted.empty()) return wanted;
  const double first = columns.top + columns.height / 2;
  const double last = columns.bottom - columns.height / 2 - rise(wanted.size() - 1);
  for (std::size_t i = 0; i < wanted.size(); ++i) wanted[i] -= rise(i);
  std::vector<double> middles = never_falling(wanted);
  for (std::size_t i = 0; i < middles.size(); ++i)
    middles[i] = std::clamp(middles[i], first, std::max(first, last)) + rise(i);
  return middles;
}

/// Swapping the ends of two lines that cross makes both together shorter, so this comes to an end.
void untangle(std::span<const Point> points, const Indices& side, double x,
              std::vector<double>& middles) {
  bool changed = true;
  const auto line = [&](std::size_t i) { return Segment{points[side[i]], {x, middles[i]}}; };
  while (changed) {
    changed = false;
    for (std::size_t i = 0; i < side.size(); ++i)
      for (std::size_t k = 0; k < i; ++k)
        if (cross_each_other(line(i), line(k))) {
          std::swap(middles[i], middles[k]);
          changed = true;
        }
  }
}

void place_side(std::span<const Point> points, Indices side, Side which, const SideColumns& columns,
                std::vector<SideLabel>& labels) {
  std::ranges::stable_sort(side, {}, [&](std::size_t i) { return points[i].y; });
  std::vector<double> wanted;
  for (const std::size_t i : side) wanted.push_back(points[i].y);
  std::vector<double> middles = spread_out(std::move(wanted), columns);
  untangle(points, side, which == Side::left ? columns.left : columns.right, middles);
  for (std::size_t i = 0; i < side.size(); ++i) labels[side[i]] = {which, middles[i]};
}

/// Those left of the middle, but no more on a side than fit there; half of them where nothing fits.
std::size_t count_on_left(std::span<const Point> points, const SideColumns& columns) {
  const double middle = (columns.left + columns.right) / 2;
  const auto on_left = static_cast<std::size_t>(
      std::ranges::count_if(points, [&](Point p) { return p.x < middle; }));
  const double room = std::max(0.0, columns.bottom - columns.top) / columns.height;
  const std::size_t half = (points.size() + 1) / 2;
  const std::size_t most = std::clamp(static_cast<std::size_t>(room + 1e-6), half, points.size());
  return std::clamp(on_left, points.size() - most, most);
}

}  // namespace

std::vector<SideLabel> side_labels(std::span<const Point> points, const SideColumns& columns) {
  std::vector<SideLabel> labels(points.size());
  Indices order(points.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, {}, [&](std::size_t i) { return points[i].x; });
  const auto middle = order.begin() + static_cast<std::ptrdiff_t>(count_on_left(points, columns));
  place_side(points, Indices(order.begin(), middle), Side::left, columns, labels);
  place_side(points, Indices(middle, order.end()), Side::right, columns, labels);
  return labels;
}

}  // namespace howl::picture
