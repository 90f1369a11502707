#pragma once

#include <cstddef>
#include <vector>

#include "src/analysis/sighting.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Samples of a block in Hz, even: at least six half-overlapped blocks fit into the take, so that
/// the noise floor is an average.
std::size_t hold_block_length(const TakeAudio& take);

/// Tones of a hold: lines of its averaged spectrum, in Hz and, where the speed was measured along
/// the take, in orders as well, each tone from the view that focuses it better.
std::vector<Sighting> survey_hold(const TakeAudio& take, std::size_t index);

}  // namespace howl
