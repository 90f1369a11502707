#include "dsp/limiter.h"

#include <algorithm>
#include <cmath>

namespace howl {

namespace {

constexpr double kRecoverySeconds = 0.2;

}  // namespace

Limiter::Limiter(double sample_rate, float ceiling)
    : ceiling_(ceiling),
      recovery_(static_cast<float>(-std::expm1(-1.0 / (kRecoverySeconds * sample_rate)))) {}

void Limiter::process(std::span<float> samples) noexcept {
  for (float& sample : samples) {
    if (!std::isfinite(sample)) sample = 0.0F;
    gain_ += recovery_ * (1.0F - gain_);
    const float magnitude = std::abs(sample);
    if (magnitude * gain_ > ceiling_) gain_ = ceiling_ / magnitude;
    // Rounding of the product could pass the ceiling by the last bit.
    sample = std::clamp(sample * gain_, -ceiling_, ceiling_);
  }
}

}  // namespace howl
