#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// The analytic signal of one frequency band, from a stream, at a lower sample rate: |z| is the
/// band's envelope, the magnitude of signal and Hilbert transform (Bendat and Piersol, Random Data
/// 4e, §13.1). A sine of amplitude A inside the band gives |z| = A.
///
/// A linear-phase band pass, Kaiser-windowed, with its half-amplitude points at the band's edges
/// and transitions a third of the band wide around them: it is flat over the band's inner 70 %, and
/// `attenuation_db` down from 15 % of the width outside. Output sample m belongs to time
/// m/output_rate() of the input; there are at least 2.7 output samples per Hz of width, so that the
/// squared envelope is free of aliases. Samples before the first and after the last are taken as 0,
/// which is felt over the first and last settling() seconds. The output does not depend on how the
/// audio is cut into chunks.
class BandEnvelope {
 public:
  /// Throws std::invalid_argument where the band with its transitions does not lie between 0 and
  /// half the sample rate, or `attenuation_db` is below 50.
  BandEnvelope(double sample_rate, Interval band_hz, double attenuation_db = 80.0);
  ~BandEnvelope();
  BandEnvelope(BandEnvelope&&) noexcept;
  BandEnvelope& operator=(BandEnvelope&&) noexcept;

  /// Appends what the samples so far allow. Phases are those of the band's own oscillation.
  void push(std::span<const float> samples, std::vector<std::complex<float>>& out);
  /// Appends the rest, up to the time of the last sample.
  void finish(std::vector<std::complex<float>>& out);
  double output_rate() const;
  /// |z| for a steady sine of amplitude 1 at a frequency, in Hz.
  double gain(double hertz) const;
  double settling() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace howl
