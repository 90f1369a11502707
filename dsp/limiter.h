#pragma once

#include <span>

namespace howl {

/// Keeps sound for headphones below a ceiling, whatever comes in. Gain falls at once, so that no
/// sample is ever above the ceiling, and recovers with a time constant of 0.2 s; sound below the
/// ceiling passes unchanged once it has recovered. It distorts the wave at the moment it sets in;
/// ears matter more there. Samples that are not finite become 0. Allocates nothing.
class Limiter {
 public:
  /// `ceiling` is a magnitude re full scale, above 0 and up to 1.
  Limiter(double sample_rate, float ceiling);
  void process(std::span<float> samples) noexcept;
  float gain() const noexcept { return gain_; }

 private:
  float ceiling_;
  float recovery_;
  float gain_{1.0F};
};

}  // namespace howl
