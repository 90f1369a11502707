#pragma once

#include <algorithm>
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

  /// Found as more than a line of the engine's own firing.
  bool found_before() const { return before && !before->combustion; }
  bool found_after() const { return howl_after() != nullptr; }
  /// The one that describes it: a howl rather than the engine's firing, else that of before.
  const ToneResult& lead() const {
    if (before && (!before->combustion || !found_after())) return *before;
    return *tone_after();
  }
  /// The one that describes it after; null where it was not found.
  const ToneResult* tone_after() const {
    if (after.empty()) return nullptr;
    return found_after() ? howl_after() : after.front();
  }

 private:
  /// At a firing line of before, what is not settled to be anything else is that line again: takes
  /// of one speed cannot tell that it follows the engine.
  bool is_howl_after(const ToneResult& tone) const {
    if (tone.combustion) return false;
    const bool settled = tone.behaviour != Behaviour::undetermined && !tone.maybe_combustion;
    return !before || !before->combustion || settled;
  }
  const ToneResult* howl_after() const {
    const auto howl = std::find_if(after.begin(), after.end(),
                                   [&](const ToneResult* tone) { return is_howl_after(*tone); });
    return howl == after.end() ? nullptr : *howl;
  }
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
/// have is not known, or it was heard in neither side of the row. A window in orders ends where
/// another tone's line begins that was found in the row and is surely not this one displaced: in
/// short blocks, as of a sweep, the engine's next order would be measured with it.
struct RowWindows {
  std::vector<ToneWindow> before;
  std::vector<ToneWindow> after;
};
std::optional<RowWindows> windows_in(const MatchedTone& tone, const std::vector<MatchedTone>& all,
                                     const TakeRow& row, const std::vector<TakeAudio>& takes_before,
                                     const std::vector<TakeAudio>& takes_after);

/// Whether the tone was found in one of the row's takes.
bool found_in(const MatchedTone& tone, const TakeRow& row,
              const std::vector<TakeAudio>& takes_before,
              const std::vector<TakeAudio>& takes_after);

}  // namespace howl
