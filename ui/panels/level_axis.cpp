#include "ui/panels/level_axis.h"

#include <algorithm>
#include <cmath>

#include "ui/look/shapes.h"

namespace howl::desk {
namespace {

void put_interval(Frame& frame, const LevelAxis& axis, const Interval& ci, const Area& bar) {
  const float low = axis.at(std::isfinite(ci.low) ? ci.low : axis.range.low);
  const float high = axis.at(std::isfinite(ci.high) ? ci.high : axis.range.high);
  const ImU32 ink = frame.theme().ink;
  const float middle = bar.y + bar.h / 2;
  const float cap = 0.36F * bar.h;
  hairline({low, middle}, {high, middle}, ink, frame.u(1.8F));
  hairline({low, middle - cap}, {low, middle + cap}, ink, frame.u(1.8F));
  hairline({high, middle - cap}, {high, middle + cap}, ink, frame.u(1.8F));
}

}  // namespace

float LevelAxis::at(double level) const {
  const double share = std::clamp((level - range.low) / range.width(), 0.0, 1.0);
  return room.x + static_cast<float>(share) * room.w;
}

Interval level_range(const Analysis& analysis) {
  double low = 1e9;
  double high = -1e9;
  for (const RankedPoint& point : analysis.ranking) {
    if (!point.level_db) continue;
    low = std::min(low, *point.level_db);
    high = std::max(high, *point.level_db);
    if (!point.ci95_db) continue;
    if (std::isfinite(point.ci95_db->low)) low = std::min(low, point.ci95_db->low);
    if (std::isfinite(point.ci95_db->high)) high = std::max(high, point.ci95_db->high);
  }
  if (low > high) return {-60, 0};
  return {std::max(low, high - 60) - 4, high + 2};
}

void put_level_bar(Frame& frame, const RankedPoint& point, Area bar, const LevelAxis& axis,
                   bool first) {
  fill(bar, faded(frame.theme().grid, 0.6F), frame.u(3));
  if (point.level_db) {
    bar.w = std::max(frame.u(2), axis.at(*point.level_db) - bar.x);
    const ImU32 colour = first ? frame.theme().accent : frame.theme().series[2];
    fill(bar, faded(colour, point.upper_bound ? 0.35F : 0.85F), frame.u(3));
  }
  if (point.ci95_db) put_interval(frame, axis, *point.ci95_db, bar);
}

}  // namespace howl::desk
