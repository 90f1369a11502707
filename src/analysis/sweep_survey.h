#pragma once

#include <cstddef>
#include <vector>

#include "src/analysis/sighting.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Tones of a sweep: ridges followed through a spectrogram and through an order map, so that tones
/// of either kind are in focus in one of the two (the better focused copy is kept), and humps that
/// stand at one frequency while the speed changes. A ridge that hops from one order, or one pitch,
/// to the next is cut where it hops.
std::vector<Sighting> survey_sweep(const TakeAudio& take, std::size_t index);

}  // namespace howl
