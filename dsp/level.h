#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>

#include "dsp/units.h"

namespace howl {

/// 10 lg(power); −300 dB for digital silence, so that levels can be added up and compared.
inline double finite_db(double power) { return 10.0 * std::log10(std::max(power, 1e-30)); }

/// Level of the sum of the energies behind `levels`, all with one reference; none where empty.
std::optional<Decibel> energy_sum(std::span<const Decibel> levels);
/// Level of the mean of the energies behind `levels`; none where empty.
std::optional<Decibel> energy_mean(std::span<const Decibel> levels);

/// K1 = −10 lg(1 − 10^(−ΔL/10)) that a level `above_background` > 0 higher than the background is
/// too high by (the correction of the ISO 3744 family).
Decibel background_correction(Decibel above_background);

/// A level with the background taken off. Closer than 3 dB to the background the source's own level
/// is unknown; what is known is that it is below the one stated: the measured level less the
/// correction at 3 dB. (The limit of 3 dB is that of the survey grade of ISO 3746, from memory.)
struct OwnLevel {
  enum class Kind { corrected, upper_bound };
  Kind kind{};
  Decibel level{};  ///< same reference as the levels given
};

OwnLevel without_background(Decibel measured, Decibel background);

}  // namespace howl
