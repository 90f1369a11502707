#include "dsp/muted_spans.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace howl {
namespace {

constexpr double kFadeSeconds = 0.010;

/// 0 in the span, 1 from the fade's end on.
double gain_beside(const Interval& span, double time) {
  const double away = std::max(span.low - time, time - span.high);
  if (away <= 0.0) return 0.0;
  if (away >= kFadeSeconds) return 1.0;
  return 0.5 - 0.5 * std::cos(std::numbers::pi * away / kFadeSeconds);
}

}  // namespace

void mute_spans(std::span<float> samples, std::int64_t first, double sample_rate,
                const TimeSpans& spans) {
  const auto count = static_cast<std::int64_t>(samples.size());
  for (const Interval& span : spans) {
    const auto reach = [&](double time) {
      return std::clamp<std::int64_t>(std::llround(time * sample_rate) - first, 0, count);
    };
    for (std::int64_t i = reach(span.low - kFadeSeconds - 1.0 / sample_rate);
         i < reach(span.high + kFadeSeconds + 1.0 / sample_rate); ++i)
      samples[static_cast<std::size_t>(i)] *=
          static_cast<float>(gain_beside(span, static_cast<double>(first + i) / sample_rate));
  }
}

}  // namespace howl
