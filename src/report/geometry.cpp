#include "src/report/geometry.h"

#include <algorithm>

namespace howl::picture {
namespace {

/// Narrows [enter, leave] to where `start + t·change` lies in [low, high]; false where that is
/// empty.
bool narrow(double start, double change, double low, double high, double& enter, double& leave) {
  if (change == 0) return low <= start && start <= high;
  double first = (low - start) / change;
  double last = (high - start) / change;
  if (first > last) std::swap(first, last);
  enter = std::max(enter, first);
  leave = std::min(leave, last);
  return enter <= leave;
}

}  // namespace

std::optional<Segment> clipped(const Segment& segment, const Box& box) {
  const auto [from, to] = segment;
  const double dx = to.x - from.x;
  const double dy = to.y - from.y;
  double enter = 0;
  double leave = 1;
  if (!narrow(from.x, dx, box.x, box.right(), enter, leave)) return std::nullopt;
  if (!narrow(from.y, dy, box.y, box.bottom(), enter, leave)) return std::nullopt;
  return Segment{{from.x + enter * dx, from.y + enter * dy},
                 {from.x + leave * dx, from.y + leave * dy}};
}

}  // namespace howl::picture
