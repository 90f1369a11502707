#include "src/cli/meter_line.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "src/record/gain_hint.h"

namespace howl {

namespace {

constexpr double lowest_db = -60.0;
constexpr std::size_t bar_width = 20;

double peak_db(double magnitude) {
  return magnitude > 0.0 ? std::max(20.0 * std::log10(magnitude), -99.9) : -99.9;
}

double level_db(double rms) {
  return rms > 0.0 ? std::max(full_scale_level(rms * rms).value, -99.9) : -99.9;
}

std::string bar(double db) {
  const double share = std::clamp((db - lowest_db) / -lowest_db, 0.0, 1.0);
  const auto filled = static_cast<std::size_t>(std::lround(share * double{bar_width}));
  return fmt::format("[{}{}]", std::string(filled, '='), std::string(bar_width - filled, ' '));
}

std::string meter_text(const MeterReading& meter) {
  return fmt::format("{} peak {:5.1f} level {:5.1f} dB{}", bar(peak_db(meter.peak)),
                     peak_db(meter.peak), level_db(meter.rms),
                     meter.clipped > 0 ? fmt::format(" CLIP {}", meter.clipped) : "");
}

std::string time_text(const RecordingView& view, double sample_rate,
                      std::optional<Seconds> length) {
  const double recorded = static_cast<double>(view.status.frames) / sample_rate;
  switch (view.status.phase) {
    case RecorderPhase::listening:
      return fmt::format("begins in {:.0f} s", std::ceil(view.until_begin.value));
    case RecorderPhase::waiting:
      return "waits for sound";
    default:
      return length ? fmt::format("{:.1f} of {:g} s", recorded, length->value)
                    : fmt::format("{:.1f} s", recorded);
  }
}

}  // namespace

std::string meter_line(const RecordingView& view, double sample_rate,
                       std::optional<Seconds> length) {
  std::string line = time_text(view, sample_rate, length);
  for (const MeterReading& meter : view.status.meters) line += "  " + meter_text(meter);
  if (const auto overruns = view.status.overruns.size(); overruns > 0)
    line += fmt::format("  LOST SOUND {} x", overruns);
  if (view.status.phase == RecorderPhase::recording && !view.status.meters.empty())
    if (const auto hint = gain_hint(view.status.meters.front())) line += "  " + *hint;
  return line;
}

}  // namespace howl
