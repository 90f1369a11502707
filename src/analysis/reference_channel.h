#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// What the reference microphone heard in a band during one take. Levels re full-scale sine.
struct ReferenceReading {
  double level_db{};  ///< in the band; its own noise floor taken off where it stands 3 dB over it
  double level_sd_db{};  ///< random error of that, one standard deviation
  /// Part of the probe's energy in the band that is coherent with the reference, 0 … 1; none where
  /// the take is too short to tell.
  std::optional<double> coherence;
  /// It hears the band: half of what it hears there is coherent with the probe, significantly
  /// (1 %), or it stands 3 dB over its own noise floor there.
  bool hears{};
};

/// Reads both channels of a take but what is left out of it; an order band follows the speed in
/// both. None where the take has no reference channel or cannot be measured in the band.
std::optional<ReferenceReading> read_reference(const TakeAudio& take,
                                               const AnalysisRequest::Band& band);

/// By how much the probe hears later than the reference, in s, from all that is coherent between
/// them up to 10 kHz; none without a reference channel, and where no delay is unique.
std::optional<double> reference_delay(const TakeAudio& take);

/// Whether the reference channel holds the probe's own sound, up to a gain (is_one_signal): a mono
/// recording stored as stereo, or one microphone on both inputs. Corrected by itself, every point
/// would be as loud as every other.
bool is_reference_the_probe(const TakeAudio& take);

/// What to add to a take's level in dB for the source having been louder or quieter meanwhile.
struct LevelCorrection {
  double correction_db{};
  double sd_db{};  ///< one standard deviation
};

/// One compared take: its condition and its reading.
struct ReferencedTake {
  std::string take;
  std::size_t condition{};
  std::optional<ReferenceReading> reading;
  bool has_reference{};
};

struct LevelCorrections {
  std::vector<LevelCorrection> takes;  ///< one a take; empty where none are to be applied
  std::vector<std::string> warnings;   ///< why not
};

/// The mean of the reference over the takes of one condition (as energy) against each take. All
/// takes are corrected or none: where some have no reference, or one does not hear the band, the
/// warnings say so.
///
/// Standard deviation: the random error of the reference's level, and, for the part of the probe's
/// energy that is not coherent with the reference and so may not have changed with it, a
/// rectangular distribution of half width (1 − coherence)·|correction| (GUM 4.3.7).
LevelCorrections level_corrections(std::span<const ReferencedTake> takes);

}  // namespace howl
