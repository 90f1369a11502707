#pragma once

#include <string>
#include <vector>

#include "src/profile/source.h"
#include "src/reasoning/howl.h"

namespace howl {

/// What it means for each source that the howl which is judged need not be the one complained of:
/// parts in order whine too, and the loudest line in the takes may be theirs.
struct WhichHowl {
  /// Natural logarithm of the factor to each source's likelihood, in the order of the sources; the
  /// class of the rest last.
  std::vector<double> log_ratio;
  double chance{1.0};        ///< that the howl judged is the fault's, before who made it
  const Howl* rival{};       ///< the other howl that is likeliest to be; null: none
  std::string rival_source;  ///< that would most likely make it
};

/// Why the howl that is judged was chosen from among all.
enum class Chosen {
  for_standing_out,  ///< the program took the most prominent one
  by_user            ///< somebody who hears it gave its band
};

/// `sound_log_ratio`: what the howl's own sound says for each source (natural logarithm of the
/// likelihood ratio against the class of the rest), the rest last, 0.
///
/// Model: one of the howls is the fault's, the others come from parts in order, each of which may
/// make any line that the profile gives it. With R_i(t) the likelihood of howl t under source i
/// over its mean over all sources, source i's likelihood is w₀ + (1 − w₀) Σ_t w_t R_i(t): w₀
/// that the fault's howl is not among those heard, w_t by strength at the source that most likely
/// makes t, level at its loudest point plus what the profile says is lost on the way there. A howl
/// that brings a vehicle in is some 20 dB stronger than what sound parts make, give or take 10 dB
/// (common practice; from memory), and levels are known to 6 dB: 10 dB more make it 10 times as
/// likely. Of howls of one strength it is the one that stands out most, 12 times as often as
/// another: the least that the trial of the whole reasoning allows (measured: 27 of 367 howls with
/// rivals were not the fault's; 95 %: 12 to 66 times, by likelihood), as a wrong certainty costs
/// more than a doubt. Somebody who gave its band meant it: 100 times (our choice).
///
/// w₀ is 0.05 (our choice) where the howl is prominent or somebody gave its band. What merely
/// stands out most where nothing is prominent is the fault's in about one case of three (measured:
/// 32 of 800 cases of the trial of the whole reasoning, tests/trials): w₀ = 0.65. A firing order in
/// a band that somebody gave may be the engine's own as well: 0.5 (our choice).
WhichHowl which_howl(const Howl& howl, Chosen chosen, const std::vector<double>& sound_log_ratio,
                     const std::vector<Howl>& others, const std::vector<Source>& sources);

}  // namespace howl
