#pragma once

#include <cmath>

#include "dsp/units.h"

namespace howl {

/// No engine of a road vehicle turns faster.
inline constexpr Rpm highest_speed{30'000.0};

inline bool plausible(Rpm speed) {
  return std::isfinite(speed.value) && speed.value > 0.0 && speed <= highest_speed;
}

}  // namespace howl
