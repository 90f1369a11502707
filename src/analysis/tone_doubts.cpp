#include "src/analysis/tone_doubts.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "src/analysis/band_levels.h"
#include "src/analysis/probe_response.h"

namespace howl {

namespace {

constexpr int kHighestMultiple = 9;
constexpr double kSlack = 0.003;  // of the frequency
constexpr double kNearInTime = 0.2;

const TakeAudio& take_named(const std::vector<TakeAudio>& takes, const std::string& id) {
  return *std::find_if(takes.begin(), takes.end(), [&](const TakeAudio& t) { return t.id == id; });
}

std::optional<Interval> level_bounds(const ToneResult& tone, const std::vector<TakeAudio>& takes) {
  Interval unsure{};
  for (const std::string& id : tone.takes) {
    const Interval own = unsure_level_db(take_named(takes, id), tone.frequency_hz.high);
    unsure = {std::min(unsure.low, own.low), std::max(unsure.high, own.high)};
  }
  if (unsure.width() < 0.1) return std::nullopt;
  return Interval{tone.level_db + unsure.low, tone.level_db + unsure.high};
}

/// Frequency of a tone in a take about a moment of it.
std::optional<double> frequency_near(const ToneResult& tone, const TrackPoint& where) {
  const TrackPoint* nearest = nullptr;
  for (const TrackPoint& p : tone.track)
    if (p.take == where.take &&
        (nearest == nullptr ||
         std::abs(p.time_s - where.time_s) < std::abs(nearest->time_s - where.time_s)))
      nearest = &p;
  if (nearest == nullptr || std::abs(nearest->time_s - where.time_s) > kNearInTime)
    return std::nullopt;
  return nearest->frequency_hz;
}

/// The whole multiple that `tone` is of `base` at nine of ten places, seen together at least once.
std::optional<int> common_multiple(const ToneResult& tone, const ToneResult& base) {
  const double ratio = (tone.frequency_hz.low + tone.frequency_hz.high) /
                       (base.frequency_hz.low + base.frequency_hz.high);
  const int multiple = static_cast<int>(std::lround(ratio));
  if (multiple < 2 || multiple > kHighestMultiple) return std::nullopt;
  std::size_t seen = 0;
  std::size_t agree = 0;
  for (const TrackPoint& p : tone.track) {
    const auto low = frequency_near(base, p);
    if (!low) continue;
    ++seen;
    if (std::abs(p.frequency_hz - multiple * *low) < kSlack * p.frequency_hz) ++agree;
  }
  if (seen == 0 || 10 * agree < 9 * seen) return std::nullopt;
  return multiple;
}

bool may_be_clipped_into(const ToneResult& base, const ToneResult& tone) {
  if (base.frequency_hz.high > 0.6 * tone.frequency_hz.high) return false;
  const auto multiple = common_multiple(tone, base);
  return multiple && base.level_db - tone.level_db > 20.0 * std::log10(*multiple);
}

/// The strongest tone that clipping may have made `tone` from: never one that it made itself.
const ToneResult* clipped_source(const ToneResult& tone, const std::vector<ToneResult>& tones) {
  const ToneResult* source = nullptr;
  for (const ToneResult& base : tones)
    if ((source == nullptr || base.level_db > source->level_db) && may_be_clipped_into(base, tone))
      source = &base;
  return source;
}

bool heard_clipped_only(const ToneResult& tone, const std::vector<TakeAudio>& takes) {
  return std::all_of(tone.takes.begin(), tone.takes.end(), [&](const std::string& id) {
    return take_named(takes, id).clipped_share > 0.0;
  });
}

}  // namespace

void doubt_tones(std::vector<ToneResult>& tones, const std::vector<TakeAudio>& takes) {
  for (ToneResult& tone : tones) {
    tone.above_probe_range = tone.frequency_hz.high > kHandProbeLimitHz;
    tone.level_bounds_db = level_bounds(tone, takes);
    if (!heard_clipped_only(tone, takes)) continue;
    const ToneResult* const source = clipped_source(tone, tones);
    if (source != nullptr) tone.clipping_product_of = source->id;
  }
}

}  // namespace howl
