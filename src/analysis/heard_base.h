#pragma once

#include <optional>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

/// What a howl is the second or third harmonic of, though two lines do not prove a family.
struct HeardBase {
  const ToneResult* tone{};
  int harmonic{};  ///< 2 or 3
};

/// The strongest tone that stood at half or a third of the howl's pitch in the same moments, within
/// 0.2 %, and does not behave otherwise; neither a firing order nor what may be one; at more
/// than one speed where the howl is, else at no half order, as every engine makes lines there. None
/// where there is none. In the blind trial of the whole reasoning
/// (tests/trials/diagnosis_trial_test.cpp) such a tone was heard under 62 of 81 howls that were
/// multiples of what their part makes and in no family, and under one of 97 others.
std::optional<HeardBase> heard_base(const std::vector<ToneResult>& tones, const ToneResult& howl);

}  // namespace howl
