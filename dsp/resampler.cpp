#include "dsp/resampler.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "dsp/require.h"

namespace howl {
namespace {

constexpr double kCrossings = 32.0;
constexpr std::size_t kPerCrossing = 512;
constexpr double kPassed = 0.95;  // of half the lower rate: where the kernel is half way down
constexpr double kBeta = 9.0;
constexpr std::size_t kTrimAt = 16384;

/// Half of a symmetric kernel, from its middle on, with a value to spare for interpolation.
std::vector<float> half_kernel() {
  const auto count = static_cast<std::size_t>(kCrossings) * kPerCrossing;
  std::vector<float> kernel(count + 2, 0.0F);
  const double whole = std::cyl_bessel_i(0.0, kBeta);
  for (std::size_t i = 0; i <= count; ++i) {
    const double x = static_cast<double>(i) / double{kPerCrossing};
    const double share = x / kCrossings;
    const double angle = std::numbers::pi * x;
    const double sinc = i == 0 ? 1.0 : std::sin(angle) / angle;
    kernel[i] = static_cast<float>(
        sinc * std::cyl_bessel_i(0.0, kBeta * std::sqrt(std::max(0.0, 1.0 - share * share))) /
        whole);
  }
  return kernel;
}

}  // namespace

Resampler::Resampler(double rate_in, double rate_out, Sink sink)
    : step_(rate_in / rate_out),
      squeeze_(kPassed * std::min(1.0, rate_out / rate_in)),
      reach_(kCrossings / squeeze_),
      sink_(std::move(sink)),
      kernel_(half_kernel()) {
  require(rate_in > 0 && rate_out > 0, "Resampler: rates are above 0");
}

float Resampler::at(double time) const {
  const auto from = std::max(static_cast<std::int64_t>(std::ceil(time - reach_)), first_held_);
  const auto to = std::min(static_cast<std::int64_t>(std::floor(time + reach_)), came_ - 1);
  double sum = 0;
  for (std::int64_t k = from; k <= to; ++k) {
    const double x =
        std::abs(time - static_cast<double>(k)) * squeeze_ * static_cast<double>(kPerCrossing);
    const auto index = static_cast<std::size_t>(x);
    if (index + 1 >= kernel_.size()) continue;
    const double rest = x - static_cast<double>(index);
    const double weight = (1.0 - rest) * static_cast<double>(kernel_[index]) +
                          rest * static_cast<double>(kernel_[index + 1]);
    sum += weight * static_cast<double>(held_[static_cast<std::size_t>(k - first_held_)]);
  }
  return static_cast<float>(squeeze_ * sum);
}

void Resampler::make_until(double end) {
  made_.clear();
  for (double time = static_cast<double>(next_) * step_; time < end;
       time = static_cast<double>(++next_) * step_)
    made_.push_back(at(time));
  if (!made_.empty()) sink_(made_);
  const double needed = std::floor(static_cast<double>(next_) * step_ - reach_);
  const auto gone = std::min(static_cast<std::int64_t>(held_.size()),
                             static_cast<std::int64_t>(needed) - first_held_);
  if (gone < static_cast<std::int64_t>(kTrimAt)) return;
  held_.erase(held_.begin(), held_.begin() + gone);
  first_held_ += gone;
}

void Resampler::push(std::span<const float> samples) {
  held_.insert(held_.end(), samples.begin(), samples.end());
  came_ += static_cast<std::int64_t>(samples.size());
  make_until(static_cast<double>(came_) - reach_);
}

void Resampler::finish() {
  make_until((std::round(static_cast<double>(came_) / step_) - 0.5) * step_);
}

}  // namespace howl
