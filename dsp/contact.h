#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "dsp/spectrogram.h"
#include "dsp/speed_curve.h"
#include "dsp/time_spans.h"

namespace howl {

/// How well the probe was held.
struct ContactFaults {
  TimeSpans lost;          ///< all bands down by 15 dB or more
  TimeSpans loose;         ///< the upper bands down by 10 dB or more, the others less
  double loose_drop_db{};  ///< of the upper bands there, on average
  TimeSpans knocks;        ///< short broadband bumps
};

/// Finds lost and loose contact and bumps in a stream, from the noise in six octaves, 125 Hz to
/// 8 kHz, in frames of some 40 ms. The noise of an octave is the median of its lines, so that tones
/// that come and go do not pass for contact.
///
/// Usual is, for contact, the upper quartile of the half seconds within 30 s whose engine speed is
/// within 25 % (12 dB for a doubling of speed, which is steep, make 4 dB of that). Lost: the median
/// drop of the octaves is 15 dB or more for 0.15 s. Loose: the median drop is 6 dB or more and the
/// octaves from 500 Hz up are down by 10 dB or more on average for 0.4 s; a probe held loosely
/// loses the high frequencies first. Where fewer than four half seconds are alike, nothing is said.
///
/// Knock: the median octave stands 10 dB or more over the 90 % quantile of the four seconds about
/// it, for half a second at most. The engine's own pulses come oftener than once in ten frames and
/// set that quantile. Where more than one a second stand 10 dB over the median, it rattles, and no
/// hand does that: nothing is reported.
///
/// The thresholds are our choice: 15 dB is more than a hand's pressure changes, 6 and 10 dB are
/// three times the spread between repeats that a hand gives.
class ContactFinder {
 public:
  ContactFinder(double sample_rate, std::optional<SpeedCurve> speed);
  void push(std::span<const float> samples);
  ContactFaults finish();
  /// Noise density, mean square per Hz, from 500 Hz to 2 kHz: median over the frames so far, mean
  /// of the octaves in dB. None without a frame.
  std::optional<double> usual_density() const;

 private:
  static constexpr std::size_t kMostOctaves = 6;
  using Levels = std::array<float, kMostOctaves>;  ///< dB of each octave

  void take_columns(std::size_t first, std::span<const float> columns);
  double time_of(double frame) const { return (frame + 1.0) * hop_seconds_; }
  std::vector<std::optional<Levels>> usual_levels(std::size_t cell) const;
  void find_drops(ContactFaults& faults) const;
  Levels octave_quantiles(std::size_t from, std::size_t to, double p) const;
  TimeSpans stand_out(double p) const;
  TimeSpans find_knocks() const;
  double median_over_octaves(const Levels& values) const;

  std::optional<SpeedCurve> speed_;
  SpectrogramStream spectrogram_;
  double spacing_;
  double hop_seconds_;
  std::size_t octaves_;
  std::vector<Levels> frames_;
};

}  // namespace howl
