#include "src/analysis/probe_response.h"

#include <algorithm>
#include <cmath>

namespace howl {

Interval probe_gain_db(double hertz) {
  constexpr double lowest_resonance = 3.0 * kHandProbeLimitHz;
  constexpr double most = 20.0;  // 1/(2ζ) for ζ = 0.05
  if (hertz <= kHandProbeLimitHz) return {0.0, 0.0};
  const double ratio = hertz / lowest_resonance;
  const double gain = -20.0 * std::log10(std::max(1e-3, std::abs(1.0 - ratio * ratio)));
  if (ratio >= 1.0) return {std::min(0.0, gain), most};
  return {0.0, std::min(most, gain)};
}

}  // namespace howl
