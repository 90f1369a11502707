#pragma once

#include <complex>
#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "dsp/overlap_add.h"

namespace howl {

/// Makes sound last a whole number of times as long and leaves its pitch: a phase vocoder whose
/// peaks carry the lines around them along (identity phase locking; Laroche and Dolson 1999,
/// "Improved phase vocoder time-scale modification of audio", IEEE Trans. Speech Audio Proc. 7,
/// §III). Frames of about 85 ms, every quarter of one in what is made.
///
/// A steady tone above 40 Hz keeps its frequency within 0.001 % and its level within 0.01 dB, away
/// from the first and last 85 ms (tests/dsp/time_stretch_test.cpp measures both). Tones closer to
/// each other than 25 Hz count as one that swells, and blows are smeared over a frame: it is made
/// for whines. Output is `slowness` times as long to the sample.
class TimeStretch {
 public:
  using Sink = std::function<void(std::span<const float>)>;

  /// `slowness` is 1, 2 or 4, else std::invalid_argument.
  TimeStretch(double sample_rate, int slowness, Sink sink);

  void push(std::span<const float> samples) { frames_.push(samples); }
  void finish() { frames_.finish(); }

 private:
  void change(std::span<std::complex<float>> spectrum);
  void find_peaks(std::span<const std::complex<float>> spectrum);
  double turned_at(std::size_t peak, double phase) const;

  FrameShape shape_;
  bool begun_{};
  std::vector<float> power_;
  std::vector<std::size_t> peaks_;
  std::vector<double> came_phase_;  // of the frame before, as it came
  std::vector<double> made_phase_;  // and as it was made
  OverlapAdd frames_;
};

}  // namespace howl
