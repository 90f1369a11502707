#include "src/analysis/masked_takes.h"

#include <algorithm>
#include <optional>
#include <string>

namespace howl {

namespace {

bool lies_in(const TrackPoint& point, const AnalysisRequest::Band& band) {
  const bool in_orders = band.unit == AnalysisRequest::Band::Unit::order;
  return band.range.contains(in_orders ? 60.0 * point.frequency_hz / point.rpm
                                       : point.frequency_hz);
}

/// Of a tone in one take, as far as it lies in the band; none where it is not heard there.
std::optional<double> loudest_in(const ToneResult& tone, const std::string& take,
                                 const AnalysisRequest::Band& band) {
  std::optional<double> loudest;
  for (const TrackPoint& point : tone.track)
    if (point.take == take && lies_in(point, band))
      loudest = std::max(loudest.value_or(point.level_db), point.level_db);
  return loudest;
}

}  // namespace

std::vector<bool> masked_takes(const std::vector<TakeAudio>& takes, const ToneResult& tone,
                               const std::vector<ToneResult>& tones,
                               const AnalysisRequest::Band& band) {
  std::vector<bool> masked;
  for (const TakeAudio& take : takes) {
    const auto own = loudest_in(tone, take.id, band);
    masked.push_back(std::any_of(tones.begin(), tones.end(), [&](const ToneResult& other) {
      if (&other == &tone || !(other.combustion || other.maybe_combustion)) return false;
      const auto level = loudest_in(other, take.id, band);
      return level && (!own || *level > *own);
    }));
  }
  return masked;
}

}  // namespace howl
