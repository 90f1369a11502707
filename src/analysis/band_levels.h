#pragma once

#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Blocks are so long that a band holds so many of their lines, where the take allows it.
constexpr double kLinesInBand = 8.0;

/// Energy of one take in a band, block by block.
struct BandBlocks {
  std::vector<double> block_power;  ///< mean square in the band; nothing of take.left_out in it
  double block_seconds{};           ///< mean time between blocks
  Interval unsure_db{};  ///< what may have to be added to the level: clipping, the probe's response
  std::vector<std::string> warnings;
};

/// A band in orders follows the speed curve (blocks of equal angle); a band in Hz stays. Empty
/// `block_power` where the band lies above the audio's half rate or the take is too short for one
/// block, or all of it is left out; the warning says which.
///
/// A clipped take shows a weak tone beside a strong one too low by the share of time that it spends
/// below the ceiling (for Gaussian sound exactly that; Bussgang 1952), a strong one by less: its
/// level may be higher by −20 lg(1 − share). How the probe widens a level is probe_gain_db().
BandBlocks band_blocks(const TakeAudio& take, const AnalysisRequest::Band& band);

/// What may have to be added to a level that a take shows at `highest_hz` or below, in dB.
Interval unsure_level_db(const TakeAudio& take, double highest_hz);

}  // namespace howl
