#pragma once

#include <cmath>

#include "dsp/units.h"

namespace howl {

/// No engine of a road vehicle turns faster.
inline constexpr Rpm highest_speed{30'000.0};

/// Below, no engine runs; starters turn one at 150 to 300 rpm (common practice).
inline constexpr Rpm lowest_held_speed{100.0};

inline bool plausible(Rpm speed) {
  return std::isfinite(speed.value) && speed.value > 0.0 && speed <= highest_speed;
}

}  // namespace howl
