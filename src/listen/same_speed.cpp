#include "src/listen/same_speed.h"

#include <algorithm>
#include <cmath>

namespace howl {
namespace {

constexpr int kPlacesLookedAt = 400;

double place_at_speed(const TakeAudio& take, Rpm speed) {
  double best = 0;
  double closest = 1e300;
  for (int i = 0; i < kPlacesLookedAt; ++i) {
    const double time = take.seconds * i / kPlacesLookedAt;
    const double off = std::abs(take.speed.at(Seconds(time)).value - speed.value);
    // The first of equally close ones, with room for rounding.
    if (off < closest - 1e-6 * speed.value) {
      closest = off;
      best = time;
    }
  }
  return best;
}

}  // namespace

RangePair same_speed_ranges(const TakeAudio& take, const Interval& range, const TakeAudio& other) {
  double begin = range.low;
  const bool sweep = !take.engine_off && !other.engine_off && (!is_hold(take) || !is_hold(other));
  if (sweep) begin = place_at_speed(other, take.speed.at(Seconds(range.low)));
  const double most = std::min(range.width(), other.seconds);
  begin = std::clamp(begin, 0.0, other.seconds - most);
  return {{range.low, range.low + most}, {begin, begin + most}};
}

}  // namespace howl
