#pragma once

#include <optional>

#include "dsp/coherence.h"
#include "dsp/statistics.h"
#include "dsp/units.h"

namespace howl {

/// y as x times one gain, one delay later, and what that leaves over.
struct CopyFit {
  double gain{};  ///< negative where the polarity is turned
  Seconds delay;  ///< by how much y lags x; half a sample at most, either way
  /// Power of y that the fit leaves, over y's own: of the whole band or of its median line, which
  /// is more.
  double left{};
};

/// Fits y as a copy of x over the lines within a band in Hz. Gain and delay are medians over the
/// lines, so that neither one loud hum nor lines below a copy's rounding decide. None where fewer
/// than ten lines of the band hold sound in both.
std::optional<CopyFit> fit_copy(const CrossSpectrum& spectrum, const Interval& within_hz);

/// Whether x and y are one signal, recorded twice: no more than −40 dB is left, neither of the
/// whole nor of half the lines.
///
/// Two microphones cannot come so near. They would have to agree within 1 % of amplitude and 0.6°
/// of phase at one gain for every pitch: responses that differ by 0.5 dB, a
/// close match for a pair, leave −25 dB already, where both hear the same; what lies between two
/// places, and noise of their own between the tones, leave far more. What is stored twice is left
/// with rounding and the differences of two converters: −60 dB and less wherever sound stands so
/// far over the last bit. One microphone on two unlike preamplifiers may be missed.
bool is_one_signal(const CrossSpectrum& spectrum, const Interval& within_hz);

}  // namespace howl
