#include "src/analysis/take_audio.h"

#include <algorithm>

#include "src/speed/coverage.h"

namespace howl {

namespace {
constexpr double kHoldRatio = 1.06;
}

std::optional<double> road_speed_at(const TakeAudio& take, double time) {
  if (take.road.empty()) return take.road_speed_kmh;
  const auto after =
      std::lower_bound(take.road.begin(), take.road.end(), time,
                       [](const RoadSpeedPoint& p, double t) { return p.time.value < t; });
  if (after == take.road.begin()) return after->kmh;
  if (after == take.road.end()) return take.road.back().kmh;
  const RoadSpeedPoint& before = *(after - 1);
  const double share = (Seconds(time) - before.time) / (after->time - before.time);
  return before.kmh + share * (after->kmh - before.kmh);
}

TimeSpans without_speed(const TakeAudio& take) {
  return without_speed(take.speed_known, Seconds(take.seconds));
}

SpeedCurve::Range speed_range(const TakeAudio& take) {
  return take.speed.range(Seconds(0.0), Seconds(take.seconds));
}

bool is_hold(const TakeAudio& take) {
  const SpeedCurve::Range range = speed_range(take);
  return range.high / range.low < kHoldRatio;
}

}  // namespace howl
