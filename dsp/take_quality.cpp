#include "dsp/take_quality.h"

#include <algorithm>
#include <cmath>

namespace howl {

TakeQualityMeter::TakeQualityMeter(double sample_rate, std::optional<SpeedCurve> speed)
    : sample_rate_(sample_rate),
      flat_tops_(sample_rate),
      lost_(sample_rate),
      slow_(sample_rate, speed),
      contact_(sample_rate, speed) {}

void TakeQualityMeter::push(std::span<const float> samples) {
  for (const float sample : samples) {
    const auto x = static_cast<double>(sample);
    sum_ += x;
    squares_ += x * x;
    peak_ = std::max(peak_, std::abs(x));
  }
  samples_ += static_cast<std::int64_t>(samples.size());
  flat_tops_.push(samples);
  lost_.push(samples);
  slow_.push(samples);
  contact_.push(samples);
}

TakeQuality TakeQualityMeter::finish() {
  TakeQuality quality;
  if (samples_ == 0) return quality;
  const auto count = static_cast<double>(samples_);
  quality.sample_rate = sample_rate_;
  quality.seconds = count / sample_rate_;
  quality.peak = peak_;
  quality.mean = sum_ / count;
  quality.power = std::max(0.0, squares_ / count - quality.mean * quality.mean);
  quality.step = lost_.step();
  quality.clipping = flat_tops_.finish();
  quality.lost = lost_.finish();
  quality.slow = slow_.finish();
  quality.power_above_rumble = std::max(1e-20, quality.power - quality.slow.power_below_40_hz);
  quality.contact = contact_.finish();
  if (const auto density = contact_.usual_density(); density && quality.step > 0.0) {
    const double rounding = quality.step * quality.step / (6.0 * sample_rate_);
    quality.over_rounding_db = 10.0 * std::log10(*density / rounding);
  }
  return quality;
}

}  // namespace howl
