#include "src/report/geometry.h"

#include <algorithm>
#include <cmath>
#include <utility>

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

/// Twice the area of the triangle, positive where it turns clockwise (y grows downwards).
double turn(Point a, Point b, Point c) {
  return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

}  // namespace

bool cross_each_other(const Segment& s, const Segment& t) {
  return turn(s.from, s.to, t.from) * turn(s.from, s.to, t.to) < 0 &&
         turn(t.from, t.to, s.from) * turn(t.from, t.to, s.to) < 0;
}

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

namespace {

struct Corner {
  double along{};  ///< the segment, 0 to 1
  Point at;
};

/// Where the segment has to go to pass a disc; nothing where it misses it.
std::optional<Corner> corner_at(const Segment& segment, const Disc& disc) {
  const double dx = segment.to.x - segment.from.x;
  const double dy = segment.to.y - segment.from.y;
  const double length = std::hypot(dx, dy);
  if (length == 0) return std::nullopt;
  const Point from_start{disc.centre.x - segment.from.x, disc.centre.y - segment.from.y};
  const double along = (from_start.x * dx + from_start.y * dy) / (length * length);
  const double off = (from_start.y * dx - from_start.x * dy) / length;  // of the centre, signed
  const double reach = disc.radius / length;
  if (std::abs(off) >= disc.radius || along < reach || along > 1 - reach) return std::nullopt;
  const double bow = off > 0 ? off - disc.radius : off + disc.radius;
  return Corner{along,
                {segment.from.x + along * dx - bow * dy / length,
                 segment.from.y + along * dy + bow * dx / length}};
}

}  // namespace

std::vector<Point> around(const Segment& segment, std::span<const Disc> discs) {
  std::vector<Corner> corners;
  for (const Disc& disc : discs)
    if (const auto corner = corner_at(segment, disc)) corners.push_back(*corner);
  std::ranges::sort(corners, {}, &Corner::along);
  std::vector<Point> line{segment.from};
  for (const Corner& corner : corners) line.push_back(corner.at);
  line.push_back(segment.to);
  return line;
}

}  // namespace howl::picture
