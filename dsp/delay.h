#pragma once

#include <variant>

#include "dsp/coherence.h"
#include "dsp/units.h"

namespace howl {

/// How the lines of a cross spectrum count in the generalised cross-correlation (Knapp and Carter
/// 1976, IEEE Trans. ASSP 24, 320–327).
enum class DelayWeighting {
  phase_transform,     ///< 1/|Gxy|: every line alike, so that colouring does not widen the peak
  maximum_likelihood,  ///< γ²/(1 − γ²)/|Gxy|: lines count by how well their phase is known
};

struct DelayParameters {
  DelayWeighting weighting{DelayWeighting::maximum_likelihood};
  Seconds longest{0.02};  ///< delays of either sign up to this are looked for
};

struct FoundDelay {
  Seconds delay;               ///< by how much y lags x
  Seconds standard_deviation;  ///< Bendat & Piersol, Random Data 4e, Eq. 8.129
};
enum class NoDelay {
  not_coherent,  ///< no lines are significantly coherent
  not_unique,    ///< another delay fits about as well: a single tone, or a narrow band
  too_long,      ///< none within the longest looked for
};
using DelayOutcome = std::variant<FoundDelay, NoDelay>;

/// By how much y lags x, from the highest peak of the generalised cross-correlation over the lines
/// that are significantly coherent (1 % limit, shared over all lines). `spectrum` in Hz.
///
/// A delay is unique where the next peak, within the longest delay or one and a half periods of the
/// mean frequency, stays below three quarters of the highest (our choice: a band of half an octave
/// or so reaches it) and four standard errors of the correlation below it.
DelayOutcome estimate_delay(const CrossSpectrum& spectrum, const DelayParameters& parameters);

/// Relative standard error of a cross-correlation at its peak, √(1 + ρ⁻²)/√(2BT): `correlation` ρ
/// is its coefficient, B the bandwidth in Hz, T the length of the record (Bendat & Piersol, Random
/// Data 4e, as in Example 8.5).
double correlation_error(double correlation, double bandwidth_hz, Seconds record);
/// Standard deviation of the place of that peak, (3/4)^¼·√ε/(πB) (Eq. 8.129).
Seconds delay_deviation(double correlation_error, double bandwidth_hz);

}  // namespace howl
