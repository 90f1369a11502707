#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"
#include "src/analysis/take_pairs.h"
#include "src/analysis/tone_meter.h"

namespace howl {

/// One tone in both cases, or in one of them.
struct MatchedTone {
  const ToneResult* before{};              ///< none: heard after only
  std::vector<const ToneResult*> after{};  ///< the strongest first; a tone of holds may be several

  const ToneResult& lead() const { return before ? *before : *after.front(); }
};

/// Pairs the tones of two cases: by order where both are speed-locked, else by their pitch in takes
/// of like condition, which may be the same in Hz or the same in orders as far as their behaviour
/// leaves that open. What has no partner stays alone. In the order of `before`, then of `after`.
std::vector<MatchedTone> match_tones(const std::vector<ToneResult>& before,
                                     const std::vector<TakeAudio>& takes_before,
                                     const std::vector<ToneResult>& after,
                                     const std::vector<TakeAudio>& takes_after,
                                     const TakePairs& pairs);

/// The takes of a row in which the tone is looked for, and where: one window for each of row.before
/// and row.after. As wide on both sides as the errors of speed, order and pitch ask for, about the
/// pitch found in the take, or else where it is expected. None where the pitch that the tone should
/// have is not known, or it was heard in neither side of the row.
struct RowWindows {
  std::vector<ToneWindow> before;
  std::vector<ToneWindow> after;
};
std::optional<RowWindows> windows_in(const MatchedTone& tone, const TakeRow& row,
                                     const std::vector<TakeAudio>& takes_before,
                                     const std::vector<TakeAudio>& takes_after);

/// Whether the tone was found in one of the row's takes.
bool found_in(const MatchedTone& tone, const TakeRow& row,
              const std::vector<TakeAudio>& takes_before,
              const std::vector<TakeAudio>& takes_after);

}  // namespace howl
