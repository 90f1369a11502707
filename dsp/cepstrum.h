#pragma once

#include <optional>
#include <span>
#include <vector>

#include "dsp/spectrum.h"
#include "dsp/statistics.h"

namespace howl {

/// Inverse Fourier transform of the logarithm of a power spectrum (Bogert, Healy and Tukey 1963;
/// Childers, Skinner and Kemerait 1977, Proc. IEEE 65, 1428–1443): lines 0 … N/2 of a transform of
/// even length N, all above 0, give quefrencies 0 … N/2 in samples. An echo a·x(n − d) leaves
/// (−1)^(k+1)·aᵏ/k at k·d. Accurate to 1e-6 of the largest logarithm.
std::vector<double> power_cepstrum(std::span<const double> power);
/// The same of the logarithm of the magnitude: half of it.
std::vector<double> real_cepstrum(std::span<const double> power);

/// Lines at whole multiples of one spacing, which stand out of a spectrum together.
struct FamilySpacing {
  double spacing{};  ///< in the unit of the spectrum
  double sigma{};
  double false_alarm{};  ///< chance that noise alone does so at any of the spacings looked at
};

struct FamilySpacingParameters {
  Interval spacings;  ///< to look at, above 0
  Interval lines;     ///< positions in the spectrum that count
  double false_alarm{0.01};
};

/// The spacing of the strongest family, from the cepstrum of the spectrum over its noise floor.
///
/// `floor` as noise_floor() gives it; lines where `leave_out` is true say nothing. The cepstrum's
/// own noise is taken from its values at neighbouring quefrencies (median), a normal distribution
/// as sums of many lines have, and every quefrency is paid for. Of a spacing and its fractions the
/// one that explains the lines is the widest whose own peak is significant. None where none is.
std::optional<FamilySpacing> find_family_spacing(const PowerSpectrum& spectrum,
                                                 std::span<const double> floor,
                                                 const std::vector<bool>& leave_out,
                                                 const FamilySpacingParameters& parameters);

}  // namespace howl
