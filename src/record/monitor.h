#pragma once

#include <cstddef>
#include <span>

#include "dsp/limiter.h"
#include "dsp/units.h"

namespace howl {

struct MonitorSettings {
  int channel{1};  ///< the one to be heard, from 1
  Decibel gain{};
  /// Loudest that goes to the headphones, dB re full scale.
  Decibel ceiling{-12.0};
};

/// One channel of what is recorded, for both ears, never louder than its ceiling. For the device's
/// own thread: no locks, allocation, system calls.
class Monitor {
 public:
  Monitor(double sample_rate, const MonitorSettings& settings);
  /// `input` has `channels` channels, `output` two; both interleaved and equally many frames, or
  /// output is empty. Where input is missing, silence.
  void play(std::span<const float> input, int channels, std::span<float> output) noexcept;

 private:
  std::size_t channel_;
  float gain_;
  Limiter limiter_;
};

}  // namespace howl
