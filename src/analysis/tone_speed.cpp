#include "src/analysis/tone_speed.h"

#include <cmath>

#include "dsp/pitch_law.h"
#include "dsp/statistics.h"

namespace howl {

bool speed_varied(const ToneResult& tone) {
  return tone.rpm_span.high > PitchLawParameters{}.least_speed_ratio * tone.rpm_span.low;
}

bool order_may_be(const ToneResult& tone, double order) {
  constexpr double narrow = 0.1;
  if (!tone.order_if_locked) return false;
  const LogEstimate& heard = *tone.order_if_locked;
  const double reach = kNormal95 * heard.log_sigma * heard.value;
  return reach < narrow && std::abs(heard.value - order) < reach;
}

}  // namespace howl
