#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "dsp/level_comparison.h"
#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// The takes of a case by what they are good for.
struct SortedTakes {
  std::vector<TakeAudio> working;     ///< the suspect may have worked
  std::vector<TakeAudio> background;  ///< engine off, or the suspect did not work
};
SortedTakes sort_out_background(std::vector<TakeAudio> takes);

/// What is to be taken off the takes that are compared.
struct MatchedBackground {
  std::vector<BackgroundBlocks> backgrounds;
  std::vector<std::optional<std::size_t>> of_take;        ///< place in `backgrounds`
  std::map<std::string, std::set<std::string>> warnings;  ///< by probe point
};

/// The background of each take in the band: at the same probe point before any other point, and
/// takes without the suspect (at like speed; else, for a hold, the part of a sweep that passes its
/// speed, see passing_sweep.h) before takes with the engine off. From an engine-off
/// take an order band gets the noise of the Hz that it sweeps in the take it is compared with. Of
/// several that suit equally well the mean. `conditions` of the takes: those of one share what is
/// taken off. `wanted`: which takes to match.
MatchedBackground match_background(std::span<const TakeAudio> takes,
                                   std::span<const std::size_t> conditions,
                                   const std::vector<bool>& wanted,
                                   std::span<const TakeAudio> background,
                                   const AnalysisRequest::Band& band);

/// Mean square, block by block, of what an engine-off take holds in the Hz that an order band
/// sweeps during `running`. Empty where it is too short for a block or its sample rate too low.
std::vector<double> swept_band_blocks(const TakeAudio& engine_off, const TakeAudio& running,
                                      const Interval& orders);

}  // namespace howl
