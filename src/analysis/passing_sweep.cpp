#include "src/analysis/passing_sweep.h"

#include <cmath>
#include <utility>

#include "src/analysis/like_takes.h"

namespace howl {

namespace {

constexpr double kLeastSeconds = 1.5;
constexpr double kStep = 0.02;  // s

bool passes_on_both_sides(const TakeAudio& sweep, double rpm) {
  const SpeedCurve::Range range = speed_range(sweep);
  return range.low.value <= (1.0 - kPassing) * rpm && range.high.value >= (1.0 + kPassing) * rpm;
}

/// Stretches within reach of a speed (`inside`), or out of it.
TimeSpans spans_where(const TakeAudio& sweep, double rpm, bool inside) {
  TimeSpans spans;
  for (double t = 0.0; t < sweep.seconds; t += kStep) {
    const bool near =
        std::abs(sweep.speed.at(Seconds(t + 0.5 * kStep)).value / rpm - 1.0) <= kPassing;
    if (near == inside) spans.push_back({t, t + kStep});
  }
  return merged(std::move(spans), 0.0, 0.1 * kStep);
}

}  // namespace

TimeSpans passes(const TakeAudio& sweep, const TakeAudio& hold) {
  if (is_hold(sweep) || !is_hold(hold) || !like_road(sweep, hold)) return {};
  const double rpm = mean_rpm(hold);
  if (!passes_on_both_sides(sweep, rpm)) return {};
  TimeSpans spans = spans_where(sweep, rpm, true);
  return covered(spans) < kLeastSeconds ? TimeSpans{} : spans;
}

TakeAudio passing_part(const TakeAudio& sweep, const TakeAudio& hold) {
  TakeAudio part = sweep;
  TimeSpans out = passes(sweep, hold).empty() ? TimeSpans{{0.0, sweep.seconds}}
                                              : spans_where(sweep, mean_rpm(hold), false);
  out.insert(out.end(), sweep.left_out.begin(), sweep.left_out.end());
  part.left_out = merged(std::move(out));
  return part;
}

}  // namespace howl
