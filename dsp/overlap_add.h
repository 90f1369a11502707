#pragma once

#include <complex>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "dsp/inverse_fft.h"

namespace howl {

struct FrameShape {
  std::size_t length{};   ///< samples; even
  std::size_t hop_in{};   ///< from frame to frame in what comes
  std::size_t hop_out{};  ///< and in what is made; at most a quarter of the length
};

/// A stream cut into overlapping frames, whose spectra are changed and put together again (Allen
/// 1977; Griffin and Lim 1984): windowed by Hann before and after, and divided by the sum of the
/// squared windows that lie over each sample, so that what is not changed comes out unchanged.
///
/// Frame m is centred on sample m·hop_in of what comes, and on sample m·hop_out of what is made,
/// which is hop_out/hop_in times as long. The result does not depend on how the stream is cut.
class OverlapAdd {
 public:
  /// Changes a spectrum (length/2 + 1 values, as RealFft gives them) in place; called for one frame
  /// after another, `frame` from 0.
  using Change = std::function<void(std::size_t frame, std::span<std::complex<float>> spectrum)>;
  using Sink = std::function<void(std::span<const float>)>;

  /// Throws std::invalid_argument where the shape is none.
  OverlapAdd(FrameShape shape, Change change, Sink sink);

  /// `change` and `sink` are called from here, and from finish().
  void push(std::span<const float> samples);
  /// No more comes: makes the rest. Only once.
  void finish();

 private:
  void work(std::size_t frames);
  void add(std::size_t frames);
  void give(std::size_t samples);

  FrameShape shape_;
  Change change_;
  Sink sink_;
  RealFft forward_;
  InverseRealFft inverse_;
  std::vector<float> window_;
  std::vector<float> input_;
  std::vector<std::complex<float>> spectra_;
  std::vector<float> frames_;
  std::vector<float> sum_;
  std::vector<float> weight_;
  std::size_t frame_{};
  std::size_t to_skip_;  // of what is made: lies before the first sample
  std::uint64_t came_{};
  std::uint64_t given_{};
};

}  // namespace howl
