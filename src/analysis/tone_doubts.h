#pragma once

#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Says of each tone what the recordings leave open of it. Sets `above_probe_range` where it
/// reaches above 2 kHz, `level_bounds_db` where that or clipping makes its level doubtful, and
/// `clipping_product_of` where it was heard in clipped takes only and lies, wherever both are
/// seen, at a whole multiple (2 to 9) of a tone that is stronger by 20 lg of the multiple, which is
/// the most that clipping gives a harmonic: a square wave's (odd harmonics; even ones arise where
/// one side clips more).
void doubt_tones(std::vector<ToneResult>& tones, const std::vector<TakeAudio>& takes);

}  // namespace howl
