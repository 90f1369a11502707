#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "dsp/fft.h"

namespace howl {

/// Rates of change of speed that are tried, d ln n/dt in 1/s; ours.
constexpr std::array<double, 13> kWarpRates{-0.5, -0.32, -0.21, -0.13, -0.07, -0.03, 0.0,
                                            0.03, 0.07,  0.13,  0.21,  0.32,  0.5};

/// Spectra of a block of sound as it would be had the speed held still at the block's middle, once
/// for every rate of change (fan-chirp transform: Weruaga and Képesi 2007, Signal Processing 87,
/// 1504–1522). Hann window.
class WarpedSpectra {
 public:
  static constexpr std::size_t block = 2048;  ///< samples
  static constexpr std::size_t margin = 192;  ///< samples read beyond a block, either way

  /// Spectra hold the lines 0 … `lines` − 1, of sample rate/block each.
  WarpedSpectra(double sample_rate, std::size_t lines);

  /// Looks at the block that begins `margin` samples into `sound`, which holds two margins more
  /// than a block.
  void look_at(std::span<const float> sound);

  /// Power of each line over that of the noise about it, as the unwarped spectrum shows it; 0 in
  /// silence.
  std::span<const double> over_noise(std::size_t rate) const {
    return std::span(over_noise_).subspan(rate * lines_, lines_);
  }

 private:
  static constexpr std::size_t taps = 8;
  struct Read {
    std::ptrdiff_t first;  ///< tap 0, relative to the block's first sample
    std::array<float, taps> weight;
  };
  using Warp = std::vector<Read>;  ///< one a sample

  static Warp make_warp(double rate, double sample_rate);

  double spacing_;
  std::size_t lines_;
  std::vector<Warp> warps_;
  RealFft fft_;
  std::vector<float> window_;
  std::vector<float> warped_;
  std::vector<float> power_;
  std::vector<double> over_noise_;
};

}  // namespace howl
