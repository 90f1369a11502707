#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "dsp/spectrum.h"
#include "src/analysis/sighting.h"

namespace howl {

/// Collects a sweep's spectra by engine speed and finds what stands at one frequency throughout: a
/// resonance that broadband noise and passing orders light up, or a tone of fixed pitch. Orders
/// smear within a stretch of speed and do not show.
class StandingHumps {
 public:
  /// Splits the take's speed range into stretches of equal ratio.
  StandingHumps(const TakeAudio& take, double line_spacing_hz);

  /// One column of a spectrogram at a moment of the take.
  void add(double time, std::span<const float> power);
  /// Humps that at least two thirds of the stretches, and no fewer than five, show within 0.5 %.
  std::vector<Sighting> find(std::size_t take_index) const;

 private:
  struct Stretch {
    std::vector<double> sum;
    std::size_t columns{};
    double time_sum{};
    double log_rpm_sum{};
  };
  std::size_t stretch_of(double rpm) const;

  const TakeAudio* take_;
  double spacing_;
  Interval log_rpm_;
  std::vector<Stretch> stretches_;
};

}  // namespace howl
