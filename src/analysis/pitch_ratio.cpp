#include "src/analysis/pitch_ratio.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <string>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

namespace {

constexpr double kSameMomentSeconds = 0.1;

const TrackPoint* at_the_moment_of(const TrackPoint& point, const ToneResult& tone) {
  const auto same = std::ranges::find_if(tone.track, [&](const TrackPoint& other) {
    return other.take == point.take && std::abs(other.time_s - point.time_s) < kSameMomentSeconds;
  });
  return same == tone.track.end() ? nullptr : &*same;
}

}  // namespace

std::optional<PitchRatio> pitch_ratio(const ToneResult& tone, const ToneResult& base) {
  std::vector<double> ratios;
  std::set<std::string> takes;
  for (const TrackPoint& point : tone.track) {
    const TrackPoint* const same = at_the_moment_of(point, base);
    if (same == nullptr || !(same->frequency_hz > 0.0)) continue;
    ratios.push_back(point.frequency_hz / same->frequency_hz);
    takes.insert(point.take);
  }
  if (ratios.empty()) return std::nullopt;
  return PitchRatio{median(ratios), takes.size()};
}

std::optional<int> whole_multiple(const PitchRatio& ratio, int most) {
  constexpr double off = 0.002;
  const int multiple = static_cast<int>(std::lround(ratio.value));
  if (multiple < 2 || multiple > most) return std::nullopt;
  if (std::abs(ratio.value / multiple - 1.0) > off) return std::nullopt;
  return multiple;
}

std::optional<int> multiple_of(const ToneResult& tone, const ToneResult& base, int most) {
  const auto ratio = pitch_ratio(tone, base);
  return ratio ? whole_multiple(*ratio, most) : std::nullopt;
}

}  // namespace howl
