#pragma once

#include <span>

#include "dsp/speed_curve.h"
#include "dsp/units.h"

namespace howl {

struct LogLagParameters {
  Seconds reach{3.0};     ///< lags from −reach to +reach are tried
  Seconds step{0.15};     ///< between lags of the first search
  Seconds longest{40.0};  ///< of the sound used: where the speed changes most
};

/// Why a lag is not clear.
enum class LagDoubt {
  none,
  steady,     ///< the speed hardly changes, so that shifting it changes nothing
  too_short,  ///< nothing is left to compare once the curve is shifted
  not_sharp,  ///< no lag makes the order map clearly sharper than the others
};

struct LogLag {
  LagDoubt doubt{LagDoubt::none};
  /// How late the speed curve is behind the sound; negative: early. Meaningful without doubt only.
  Seconds lag{};
  Seconds sigma{};  ///< one standard deviation
};

/// Lag between a speed curve and the sound it belongs to.
///
/// The right lag is the one that makes the order spectrum along the shifted curve sharpest. Its
/// sharpness is the spectral flatness (ratio of arithmetic to geometric mean, in nats) of bands two
/// orders wide, summed, so that every order has its vote and no single tone decides. Clear means:
/// a maximum inside the range, sharper than every lag 0.3 s or more away, by three standard errors
/// of the difference; errors by the delete-a-group jackknife over stretches of the take (Efron and
/// Tibshirani 1993, ch. 11). `sound` is short enough to be held, at `sample_rate`.
LogLag find_log_lag(std::span<const float> sound, double sample_rate, const SpeedCurve& curve,
                    const LogLagParameters& parameters);

}  // namespace howl
