#pragma once

#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Energy of one take in a band, block by block.
struct BandBlocks {
  std::vector<double> block_power;  ///< mean square in the band; blocks without contact left out
  double block_seconds{};           ///< mean length of a block
  std::vector<std::string> warnings;
};

/// A band in orders follows the speed curve (blocks of equal angle); a band in Hz stays. Blocks in
/// which the whole signal drops 20 dB below its usual level around are taken for lost contact, left
/// out and reported. Empty `block_power` where the band lies above the audio's half rate or the
/// take is too short for one block; the warning says which.
BandBlocks band_blocks(const TakeAudio& take, const AnalysisRequest::Band& band);

}  // namespace howl
