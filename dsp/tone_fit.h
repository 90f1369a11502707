#pragma once

#include <cstddef>

#include "dsp/spectrum.h"

namespace howl {

/// A pure tone fitted to the lines about a local maximum.
struct ToneFit {
  double offset;        ///< position less that of the line, in lines
  double offset_sigma;  ///< standard deviation of `offset` from the noise, in lines
  double power;         ///< mean square of the tone
  double misfit;        ///< Σ (residual/deviation)² over the lines used
};

/// Fits the main lobe of the spectrum's window plus `floor` (power of a noise line) to the lines
/// about `line`, which is a local maximum at least the lobe's half width away from both ends and
/// higher than `floor`. The method is stated at find_peaks().
ToneFit fit_tone(const PowerSpectrum& spectrum, std::size_t line, double floor);

}  // namespace howl
