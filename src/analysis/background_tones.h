#pragma once

#include <span>
#include <vector>

#include "src/analysis/sighting.h"
#include "src/analysis/take_audio.h"
#include "src/analysis/tone_tracks.h"

namespace howl {

/// Puts a remark on every track that is just as loud (within 3 dB, median over its sightings) where
/// the suspect does not work: at like speed in background takes or while a background sweep passes
/// that speed, or at the same Hz with the engine off. A sighting is held against the background
/// takes of its own probe point where there are any, else against all. What is speed-locked is
/// never put down to an engine that stands still.
///
/// `sightings` are those of the takes in `background`, by their place there.
void mark_background_tones(std::vector<ToneTrack>& tracks, std::span<const TakeAudio> takes,
                           std::span<const TakeAudio> background,
                           std::span<const Sighting> sightings);

}  // namespace howl
