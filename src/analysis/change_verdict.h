#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "dsp/level_change.h"
#include "src/analysis/comparison.h"

namespace howl {

/// What is known of one tone apart from its levels.
struct ToneFacts {
  bool found_before{};
  bool found_after{};  ///< not counting a line of the engine's own firing
  bool prominent_before{};
  bool prominent_after{};
  std::size_t tones_compared{1};
  double rest_degrees{};  ///< of the scatter of the rest
};

/// The word for a change; see ToneChange for what each asks for.
ToneChange judge_change(const LevelChange& change, const ToneFacts& facts);

/// Levels of dsp/ (10 lg of mean squares) as the user reads them: re full-scale sine.
MeasuredChange measured_change(const LevelChange& change);

/// "order 11.00", "640 Hz"
std::string tone_words(const ComparedTone& tone);

/// The verdict in plain words, of tones sorted as in Comparison: what is new, what became of the
/// howl (none: nothing howled before), what else; of what is louder too the first three by name.
std::string verdict_words(const Comparison& comparison, const ComparedTone* howl);

}  // namespace howl
