#pragma once

#include <cstddef>
#include <vector>

#include "src/analysis/analyse.h"
#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// What swells or strikes in one take at an order that the engine's own cycle does not have.
struct StrikeSighting {
  std::size_t take{};  ///< place in the list of takes
  Interval band_hz;
  double kurtosis{};
  double order{};
  double sigma{};  ///< of the order, the speed's error included
  int harmonics{};
  std::optional<double> sideband_order;
  double modulation_depth{};
  double false_alarm{};
  bool spacing_in_cepstrum{};
};

/// Strikes of one take; with noise, the engine and steady tones alone there are any in at most 1 %
/// of takes, as far as the noise is Gaussian in its band. Lines that the tones in a band make by
/// beating (BlockTones) are set aside: what counts is what the rest of the band does beyond them.
std::vector<StrikeSighting> survey_strikes(const TakeAudio& take, std::size_t index);

/// Joins strikes of like order over the takes, puts them into words, and leaves out single lines
/// that two of `tones` make by beating. Most certain first.
std::vector<ImpactResult> impact_results(std::vector<StrikeSighting> sightings,
                                         const std::vector<TakeAudio>& takes,
                                         const std::vector<ToneResult>& tones);

/// Both, for all takes.
std::vector<ImpactResult> find_impacts(const std::vector<TakeAudio>& takes,
                                       const std::vector<ToneResult>& tones,
                                       const Progress& progress);

}  // namespace howl
