#pragma once

#include <optional>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"
#include "src/analysis/tone_tracks.h"

namespace howl {

struct ToneFindings {
  std::vector<ToneResult> tones;
  std::vector<FamilyResult> families;
  std::size_t left_out{};  ///< weak tones beyond what a result holds
};

/// Tracks as the user sees them: named, sorted (howls first, most prominent first, then what is
/// remarked on or may be clipping's work, firing orders last; a sideband behind its carrier), with
/// families, with what the recordings leave open of each, and with advice for what is undetermined.
/// Weak lone lines are left out.
ToneFindings tone_results(const std::vector<ToneTrack>& tracks, const std::vector<TakeAudio>& takes,
                          std::optional<int> cylinders);

}  // namespace howl
