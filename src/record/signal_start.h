#pragma once

#include <cstddef>
#include <optional>
#include <span>

#include "dsp/units.h"

namespace howl {

/// Waits for sound: the first stretch of 20 ms whose level (of its mean square, dB re full-scale
/// sine) reaches a threshold.
class SignalStart {
 public:
  SignalStart(double sample_rate, Decibel threshold);
  /// Index into `samples` at which the sound was noticed; none yet otherwise.
  std::optional<std::size_t> push(std::span<const float> samples);

 private:
  std::size_t stretch_;
  double threshold_;  ///< sum of squares
  std::size_t count_{};
  double sum_{};
};

}  // namespace howl
