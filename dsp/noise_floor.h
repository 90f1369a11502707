#pragma once

#include <optional>
#include <vector>

#include "dsp/spectrum.h"

namespace howl {

/// Mean power of the noise about each line of a spectrum, tones left out; same scaling as
/// PowerSpectrum::power (divide by noise_bandwidth() for a density).
///
/// Two running quantiles. The 30 % quantile finds the level under tones that fill up to two thirds
/// of the neighbourhood; lines well above it are set aside; the median of the rest is the floor.
/// Both are corrected from quantile to mean by the chi-square distribution of a line with 2·n_d
/// degrees of freedom, n_d = effective_averages. `width` is that of the neighbourhood, in the unit
/// of `spacing`; without it, the critical band of a spectrum in Hz. A neighbourhood holds 30 lines
/// of a Hann spectrum or more. Never below 1e-16 of the strongest line, where rounding ends what
/// can be known.
///
/// O(N log N), for the sorting. Empty where the spectrum is, or has no averages.
std::vector<double> noise_floor(const PowerSpectrum& spectrum, std::optional<double> width);

}  // namespace howl
