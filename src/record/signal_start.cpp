#include "src/record/signal_start.h"

#include <algorithm>
#include <cmath>

namespace howl {

namespace {

constexpr double stretch_seconds = 0.02;

}  // namespace

SignalStart::SignalStart(double sample_rate, Decibel threshold)
    : stretch_(std::max<std::size_t>(
          1, static_cast<std::size_t>(std::lround(stretch_seconds * sample_rate)))),
      threshold_(0.5 * power_of(threshold) * static_cast<double>(stretch_)) {}

std::optional<std::size_t> SignalStart::push(std::span<const float> samples) {
  for (std::size_t i = 0; i < samples.size(); ++i) {
    sum_ += double{samples[i]} * double{samples[i]};
    if (++count_ < stretch_) continue;
    if (sum_ >= threshold_) return i;
    count_ = 0;
    sum_ = 0.0;
  }
  return std::nullopt;
}

}  // namespace howl
