#pragma once

#include <cstddef>
#include <optional>

#include "src/analysis/analysis.h"

namespace howl {

/// Pitch of one tone over that of another, where both were followed at the same moments (within
/// 0.1 s of one take): errors of speed and the slip of a common belt cancel.
struct PitchRatio {
  double value{};       ///< median
  std::size_t takes{};  ///< in which both were followed
};

/// None where they never were.
std::optional<PitchRatio> pitch_ratio(const ToneResult& tone, const ToneResult& base);

/// Which multiple a ratio is, 2 to `most`, within 0.2 %; none where it is none.
std::optional<int> whole_multiple(const PitchRatio& ratio, int most = 4);

/// Which multiple of `base` the tone is by their pitch_ratio. Unrelated lines may lie so by chance:
/// no proof of a family.
std::optional<int> multiple_of(const ToneResult& tone, const ToneResult& base, int most = 4);

}  // namespace howl
