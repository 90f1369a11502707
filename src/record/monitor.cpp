#include "src/record/monitor.h"

#include <algorithm>
#include <cmath>

namespace howl {

namespace {

double amplitude_of(Decibel level) { return std::sqrt(power_of(level)); }

}  // namespace

Monitor::Monitor(double sample_rate, const MonitorSettings& settings)
    : channel_(static_cast<std::size_t>(settings.channel - 1)),
      gain_(static_cast<float>(amplitude_of(settings.gain))),
      limiter_(sample_rate, static_cast<float>(amplitude_of(settings.ceiling))) {}

void Monitor::play(std::span<const float> input, int channels, std::span<float> output) noexcept {
  const auto step = static_cast<std::size_t>(channels);
  const std::size_t heard = std::min(input.size() / step, output.size() / 2);
  for (std::size_t n = 0; n < heard; ++n) {
    float sample = gain_ * input[n * step + channel_];
    limiter_.process({&sample, 1});
    output[2 * n] = sample;
    output[2 * n + 1] = sample;
  }
  std::ranges::fill(output.subspan(2 * heard), 0.0F);
}

}  // namespace howl
