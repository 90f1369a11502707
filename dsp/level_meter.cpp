#include "dsp/level_meter.h"

#include <algorithm>
#include <cmath>

#include "dsp/weighting.h"

namespace howl {

namespace {

constexpr double kMeterFallDb = 20.0;
constexpr double kMeterFallSeconds = 1.7;

}  // namespace

LevelMeter::LevelMeter(double sample_rate)
    : fall_(std::pow(10.0, -kMeterFallDb / 20.0 / (kMeterFallSeconds * sample_rate))),
      forgetting_(std::exp(-1.0 / (time_constant(TimeWeighting::fast).value * sample_rate))) {}

void LevelMeter::push(std::span<const float> samples) {
  for (const float sample : samples) {
    if (!std::isfinite(sample)) continue;
    const double magnitude = std::abs(double{sample});
    reading_.peak = std::max(magnitude, reading_.peak * fall_);
    reading_.highest = std::max(reading_.highest, magnitude);
    if (magnitude >= clipped_from) ++reading_.clipped;
    mean_square_ = magnitude * magnitude + forgetting_ * (mean_square_ - magnitude * magnitude);
  }
}

void LevelMeter::forget() {
  reading_.highest = 0.0;
  reading_.clipped = 0;
}

MeterReading LevelMeter::reading() const {
  MeterReading shown = reading_;
  shown.rms = std::sqrt(mean_square_);
  return shown;
}

}  // namespace howl
