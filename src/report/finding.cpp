#include "src/report/finding.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "src/report/number_text.h"

namespace howl {
namespace {

std::vector<const RankedPoint*> measured_points(const Analysis& analysis) {
  std::vector<const RankedPoint*> measured;
  for (const RankedPoint& point : analysis.ranking)
    if (point.level_db) measured.push_back(&point);
  return measured;
}

std::string certainty(const RankedPoint& point) {
  return fmt::format("{}, {}", call_name(point.call), percent_text(point.probability_loudest));
}

std::string where_of_two(const std::string& band, const RankedPoint& loudest,
                         const RankedPoint& next) {
  if (loudest.call == Call::no_difference)
    return fmt::format(
        "No point is surely the loudest in the band {}: {} ({}), next {}, {} dB below.", band,
        loudest.point, certainty(loudest), next.point, fixed_text(next.below_loudest_db, 1));
  return fmt::format("Loudest in the band {}: {} ({}); next is {}, {} dB below.", band,
                     loudest.point, certainty(loudest), next.point,
                     fixed_text(next.below_loudest_db, 1));
}

std::string where(const Analysis& analysis) {
  if (!analysis.suspect_band) return "Nothing howls in these takes, so there is nothing to rank.";
  const std::string band = band_text(analysis.suspect_band->band);
  const auto measured = measured_points(analysis);
  if (measured.empty())
    return fmt::format("No probe point has a level in the band {}, so none can be ranked.", band);
  if (measured.size() == 1)
    return fmt::format(
        "Only one probe point can be judged in the band {}: {}; record others to "
        "compare it with.",
        band, measured.front()->point);
  return where_of_two(band, *measured[0], *measured[1]);
}

std::string order_words(const ToneResult& tone) {
  if (!tone.order) return "order not known";
  if (!tone.order_ci95) return fmt::format("order {}", fixed_text(tone.order, 2));
  return fmt::format("order {} ({})", fixed_text(tone.order, 2), span_text(*tone.order_ci95, 2));
}

std::string drive_words(Drive drive) {
  if (drive == Drive::direct) return ", driven directly";
  if (drive == Drive::belt) return ", driven by a belt that slips";
  return "";
}

std::string howl_words(const ToneResult& tone) {
  const std::string hertz = span_text(tone.frequency_hz, 0) + " Hz";
  switch (tone.behaviour) {
    case Behaviour::speed_locked:
      return "speed-locked, " + order_words(tone) + drive_words(tone.drive);
    case Behaviour::road_locked:
      return "road-locked, at " + hertz + ": it follows road speed, not the engine";
    case Behaviour::fixed_pitch:
      return "fixed-pitch, at " + hertz + ": it does not follow the engine";
    case Behaviour::unlocked:
      return "unlocked, at " + hertz + ": its pitch moves, but not with the engine";
    case Behaviour::undetermined:
      return "at " + hertz + ", and its pitch behaviour is undetermined";
  }
  return "at " + hertz;
}

std::string what(const Analysis& analysis) {
  if (const ToneResult* tone = strongest_howl(analysis))
    return fmt::format("The strongest howl ({}) is {}.", tone->id, howl_words(*tone));
  if (analysis.tones.empty()) return "No tone stands out.";
  return "The tones that stand out belong to the engine's firing.";
}

}  // namespace

const ToneResult* strongest_howl(const Analysis& analysis) {
  const auto howl =
      std::ranges::find_if(analysis.tones, [](const ToneResult& tone) { return !tone.combustion; });
  return howl == analysis.tones.end() ? nullptr : &*howl;
}

Finding finding_of(const Analysis& analysis) { return {where(analysis), what(analysis)}; }

}  // namespace howl
