#include "src/analysis/take_audio.h"

namespace howl {

namespace {
constexpr double kHoldRatio = 1.06;
}

SpeedCurve::Range speed_range(const TakeAudio& take) {
  return take.speed.range(Seconds(0.0), Seconds(take.seconds));
}

bool is_hold(const TakeAudio& take) {
  const SpeedCurve::Range range = speed_range(take);
  return range.high / range.low < kHoldRatio;
}

}  // namespace howl
