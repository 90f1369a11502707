#include "src/report/finding.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "dsp/units.h"
#include "src/analysis/families.h"
#include "src/analysis/heard_base.h"
#include "src/analysis/speed_check.h"
#include "src/analysis/suspect_band.h"
#include "src/percent_text.h"
#include "src/report/number_text.h"

namespace howl {
namespace {

std::vector<const RankedPoint*> measured_points(const Analysis& analysis) {
  std::vector<const RankedPoint*> measured;
  for (const RankedPoint& point : analysis.ranking)
    if (point.level_db) measured.push_back(&point);
  return measured;
}

/// The chance belongs to the place, the decibels say whether it matters; the call mixes both and is
/// left to the table.
std::string where_of_two(const std::string& band, const RankedPoint& loudest,
                         const RankedPoint& next) {
  const std::string chance = percent_text(loudest.probability_loudest);
  const std::string lead =
      (next.upper_bound ? "at least " : "") + fixed_text(next.below_loudest_db, 1);
  if (loudest.upper_bound || !next.below_loudest_db)
    return fmt::format("No point is surely the loudest in the band {}: {}", band,
                       loudest.upper_bound
                           ? "none is 3 dB louder than its background."
                           : next.point + " may be louder than it seems over its background.");
  if (loudest.call == Call::no_difference)
    return fmt::format(
        "No point is surely the loudest in the band {}: {} leads {} by {} dB, which hand and probe "
        "alone may cause (chance of being the loudest {}).",
        band, loudest.point, next.point, lead, chance);
  return fmt::format(
      "Loudest in the band {}: {}, {} dB above the next, {} (chance of being the loudest {}).",
      band, loudest.point, lead, next.point, chance);
}

std::string where(const Analysis& analysis) {
  if (analysis.takes.empty()) return "The case has no takes yet, so there is nothing to analyse.";
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
  const double at_1000_rpm = frequency_of(Order(*tone.order), Rpm(1000.0)).value;
  return fmt::format("order {} ({} Hz per 1000 rpm)", order_text(tone), fixed_text(at_1000_rpm, 0));
}

/// Where the howl is a multiple of what its family goes back to, or of another tone that is heard:
/// the multiple may be the louder.
std::string base_words(const Analysis& analysis, const ToneResult& tone) {
  const FamilyResult* const family = family_of(tone, analysis.families);
  if (family == nullptr) {
    const auto base = heard_base(analysis.tones, tone);
    if (!base || !base->tone->order) return {};
    return fmt::format(", {} times order {}, which is heard too", base->harmonic,
                       fixed_text(*base->tone->order, 2));
  }
  if (family->unit != FamilyResult::Unit::order) return {};
  const FamilyResult::Member* const member = member_of(*family, tone);
  if (member == nullptr || member->harmonic < 2 || member->sideband != 0) return {};
  return fmt::format(", {} times order {}", member->harmonic, fixed_text(family->base, 2));
}

std::string drive_words(Drive drive) {
  if (drive == Drive::direct) return ", driven directly";
  if (drive == Drive::belt) return ", driven by a belt that slips";
  if (drive == Drive::engine_or_road)
    return "; whether it follows the engine or the road is not settled: they ran in step";
  return "; whether directly or by a belt is not settled";
}

/// What makes an order that follows the engine.
std::string maker_words(const ToneResult& tone) {
  if (tone.combustion) return "; the engine's firing makes this order too";
  if (tone.swells_at_hz)
    return fmt::format(
        "; the engine's firing makes this order too, but it swells at {:.0f} Hz, as if something "
        "resonated there",
        *tone.swells_at_hz);
  return tone.maybe_combustion ? "; it may be the engine's firing" : drive_words(tone.drive);
}

std::string howl_words(const Analysis& analysis, const ToneResult& tone) {
  const std::string hertz = span_text(tone.frequency_hz, 0) + " Hz";
  switch (tone.behaviour) {
    case Behaviour::speed_locked:
      return "speed-locked, " + order_words(tone) + base_words(analysis, tone) + maker_words(tone);
    case Behaviour::road_locked:
      return "road-locked, at " + hertz + ": it follows road speed, not the engine";
    case Behaviour::fixed_pitch:
      return "fixed-pitch, at " + hertz + ": it does not follow the engine";
    case Behaviour::unlocked:
      return "unlocked, at " + hertz + ": its pitch moves, but not with the engine";
    case Behaviour::undetermined:
      return "at " + hertz + ", and its pitch behaviour is undetermined" +
             (tone.maybe_combustion ? "; it may be the engine's firing" : "");
  }
  return "at " + hertz;
}

std::string without_howl(const Analysis& analysis) {
  if (analysis.tones.empty()) return "No tone stands out.";
  const bool all_firing =
      std::ranges::all_of(analysis.tones, [](const ToneResult& tone) { return tone.combustion; });
  return all_firing
             ? "The tones that stand out belong to the engine's firing."
             : "The tones that stand out are the engine's firing, or doubtful (see Remarks).";
}

bool asked(const Analysis& analysis) {
  return analysis.suspect_band && analysis.suspect_band->chosen_by_user;
}

std::string howl_name(const Analysis& analysis, const ToneResult& howl) {
  if (!asked(analysis))
    return fmt::format(
        "{} ({})",
        howl.prominent ? "The strongest howl" : "Nothing howls prominently; what stands out most",
        howl.id);
  if (tone_in_band(analysis.tones, analysis.suspect_band->band) == &howl)
    return fmt::format("The strongest howl in this band ({})", howl.id);
  return fmt::format("No howl was found in this band; the strongest elsewhere ({})", howl.id);
}

/// A pump may howl at a firing order; nothing there tells it from the engine.
std::string hidden_words(const Analysis& analysis, const ToneResult& howl) {
  const bool firing = std::ranges::any_of(
      analysis.tones, [](const ToneResult& tone) { return tone.combustion && tone.prominent; });
  if (asked(analysis) || howl.prominent || !firing) return {};
  return " What lies at a firing order is taken for the engine's: if you hear a howl there, give "
         "its "
         "band.";
}

std::string what(const Analysis& analysis) {
  if (analysis.takes.empty()) return "Record some probe points, and add each with: howlpoint add";
  const ToneResult* const howl = strongest_howl(analysis);
  if (howl == nullptr) return without_howl(analysis);
  const std::string heard =
      fmt::format("{} is {}", howl_name(analysis, *howl), howl_words(analysis, *howl));
  const std::vector<std::string> wrong = contradicted_takes(analysis, *howl);
  if (wrong.empty()) return heard + "." + hidden_words(analysis, *howl);
  return fmt::format(
      "{}; but the sound of {} contradicts the speed that was written down, and with the right "
      "speed this may read otherwise.",
      heard, fmt::join(wrong, ", "));
}

}  // namespace

const ToneResult* strongest_howl(const Analysis& analysis) {
  const ToneResult* const asked_for =
      asked(analysis) ? tone_in_band(analysis.tones, analysis.suspect_band->band) : nullptr;
  return asked_for != nullptr ? asked_for : first_howl(analysis.tones);
}

Finding finding_of(const Analysis& analysis) { return {where(analysis), what(analysis)}; }

}  // namespace howl
