#include "src/analysis/change_verdict.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "dsp/units.h"
#include "src/analysis/new_howls.h"

namespace howl {

namespace {

constexpr double kGoneDb = 6.0;
constexpr double kDifferentDb = 3.0;  // common practice: less is no difference
constexpr double kFamilyError = 0.05;

/// One change with its ends moved out for the number of tones that are compared.
struct Surely {
  double middle;
  std::optional<double> low;
  std::optional<double> high;

  bool below(double db) const { return high && *high <= db; }
  bool above(double db) const { return low && *low >= db; }
  bool within(double db) const { return low && high && *low >= -db && *high <= db; }
};

Surely surely(const ChangeEstimate& estimate, double confidence, double degrees) {
  Surely s{estimate.change_db.value_or(estimate.middle_db), estimate.low_db, estimate.high_db};
  if (s.low) s.low = at_confidence(*s.low, s.middle, confidence, degrees);
  if (s.high) s.high = at_confidence(*s.high, s.middle, confidence, degrees);
  return s;
}

/// What a change is at least said to be, where one side is not heard.
double least_fall(const ChangeEstimate& e) { return e.change_db.value_or(e.high_db.value_or(0.0)); }
double least_rise(const ChangeEstimate& e) { return e.change_db.value_or(e.low_db.value_or(0.0)); }

std::optional<double> full_scale(const std::optional<double>& mean_square_db) {
  if (!mean_square_db) return std::nullopt;
  return *mean_square_db + full_scale_level(1.0).value;
}

std::string places_words(std::size_t proven, std::size_t heard) {
  if (heard == 1) return "at the one place compared";
  return fmt::format("shown at {} of {} places compared", proven, heard);
}

/// "14 dB quieter (95 %: 6 … 22 dB; against the rest of the sound 13 dB)"
std::string fall_words(const MeasuredChange& m) {
  std::string text = fmt::format("{:.0f} dB quieter", -*m.change_db);
  if (!m.ci95_db.low_db || !m.ci95_db.high_db || !m.relative_change_db) return text;
  return text + fmt::format(" (95 %: {:.0f} … {:.0f} dB; against the rest of the sound {:.0f} dB)",
                            -*m.ci95_db.high_db, -*m.ci95_db.low_db, -*m.relative_change_db);
}

/// The quietest that both ways of counting vouch for.
double surely_quieter(const MeasuredChange& m) {
  double high = -300.0;
  for (const auto& end : {m.ci95_db.high_db, m.relative_ci95_db.high_db})
    if (end) high = std::max(high, *end);
  return std::max(0.0, std::floor(-high));
}

double surely_louder(const MeasuredChange& m) {
  double low = 300.0;
  for (const auto& end : {m.ci95_db.low_db, m.relative_ci95_db.low_db})
    if (end) low = std::min(low, *end);
  return std::max(0.0, std::floor(low));
}

std::string prominence_words(const ComparedTone& tone) {
  if (!tone.prominent_before) return {};
  return tone.prominent_after ? ", still prominent" : ", no longer prominent";
}

std::string not_proven(const ComparedTone& howl, bool can_record) {
  const bool still = howl.prominent_before && howl.prominent_after;
  return fmt::format("Not proven that the howl at {} is gone{}: {}{}.", tone_words(howl),
                     still ? ", and it is still prominent" : "", howl.why,
                     can_record ? "; what to record is said below" : "");
}

std::string howl_words(const ComparedTone& howl, bool can_record) {
  if (!howl.measured) return not_proven(howl, can_record);
  const std::string name = "The howl at " + tone_words(howl);
  const MeasuredChange& m = *howl.measured;
  const std::string where = places_words(howl.places_proven, howl.places_heard);
  switch (howl.change) {
    case ToneChange::gone:
      return fmt::format("{} is gone: at least {:.0f} dB quieter, {}{}.", name, surely_quieter(m),
                         where, prominence_words(howl));
    case ToneChange::weaker:
      if (m.change_db)
        return fmt::format("{} is weaker, {}: {}{}.", name,
                           howl.prominent_after ? "not gone" : "not proven to be gone",
                           fall_words(m), prominence_words(howl));
      return fmt::format("{} is weaker, by at least {:.0f} dB, but not proven to be gone{}.", name,
                         surely_quieter(m), prominence_words(howl));
    case ToneChange::unchanged:
      return fmt::format("{} is still there, as loud as before against the rest of the sound{}.",
                         name, prominence_words(howl));
    case ToneChange::louder:
      return fmt::format("{} is louder than before, by {:.0f} dB.", name,
                         m.change_db.value_or(surely_louder(m)));
    case ToneChange::appeared:
    case ToneChange::undetermined:
      break;
  }
  return not_proven(howl, can_record);
}

bool any_trusted(const Comparison& comparison) {
  return std::any_of(comparison.places.begin(), comparison.places.end(),
                     [](const ComparedPlace& p) { return p.trusted; });
}

/// Places that show nothing of a howl that is gone elsewhere, for want of a better take.
std::string unsettled_words(const Comparison& comparison) {
  std::vector<std::string> places;
  for (const ComparedPlace& place : comparison.places)
    if (!place.record_again.empty())
      places.push_back(fmt::format("{} ({})", place.point, place.condition));
  if (places.empty()) return {};
  if (places.size() > 2)
    return fmt::format(" Not settled at {} other places, which are to be recorded again.",
                       places.size());
  return fmt::format(" Not settled at {}, which {} to be recorded again.",
                     fmt::join(places, " and "), places.size() == 1 ? "is" : "are");
}

std::string unproven_words(const ComparedTone& tone) {
  if (!tone.firing_order_before) return tone_words(tone);
  return fmt::format("{} (the engine's own order {:.2f} lies there)", tone_words(tone),
                     *tone.firing_order_before);
}

using Tones = std::vector<const ComparedTone*>;

/// "order 8.62, loudest at pump; order 2.00 firing, heard at pump; and 2 more"
std::string named(const Comparison& comparison, const Tones& tones) {
  constexpr std::size_t most_named = 3;
  std::vector<std::string> names;
  for (const ComparedTone* tone : tones) {
    if (names.size() == most_named) break;
    const std::string where = loudest_words(comparison, *tone);
    names.push_back(tone_words(*tone) + (tone->combustion ? " firing" : "") +
                    (where.empty() ? "" : ", " + where));
  }
  if (tones.size() > most_named)
    names.push_back(fmt::format("and {} more", tones.size() - most_named));
  return fmt::format("{}", fmt::join(names, "; "));
}

std::string louder_words(const Comparison& comparison, const Tones& louder) {
  if (louder.empty()) return {};
  return fmt::format(" {} other {} louder: {}.", louder.size(),
                     louder.size() == 1 ? "tone is" : "tones are", named(comparison, louder));
}

std::optional<double> loudest_db(const Comparison& comparison, const ComparedTone& tone,
                                 std::optional<double> MeasuredChange::*side) {
  std::optional<double> loudest;
  for (const ToneAtPlace& here : tone.at)
    if (comparison.places[here.place].trusted && here.measured.*side)
      loudest = std::max(loudest.value_or(-300.0), *(here.measured.*side));
  return loudest;
}

/// Heard in both cases, and as loud now as the howl was that is gone: who hears only that the
/// vehicle howls has the same complaint. What is new is told as such.
Tones howling_instead(const Comparison& comparison, const ComparedTone& howl) {
  const auto was = loudest_db(comparison, howl, &MeasuredChange::before_db);
  Tones tones;
  for (const ComparedTone& tone : comparison.tones) {
    if (&tone == &howl || tone.combustion || !tone.remark.empty()) continue;
    if (!tone.found_before || !tone.prominent_after) continue;
    const auto is = loudest_db(comparison, tone, &MeasuredChange::after_db);
    if (was && is && *is > *was - kDifferentDb) tones.push_back(&tone);
  }
  return tones;
}

std::string instead_words(const Comparison& comparison, const Tones& instead) {
  if (instead.empty()) return {};
  const bool all_louder = std::all_of(instead.begin(), instead.end(), [](const ComparedTone* tone) {
    return tone->change == ToneChange::louder;
  });
  return fmt::format(" But as loud as that was {} now, {}: {}.",
                     instead.size() == 1 ? "is another howl" : "are other howls",
                     all_louder ? "heard before too and louder since" : "heard before too",
                     named(comparison, instead));
}

std::string rest_words(const Comparison& comparison, const ComparedTone* howl,
                       const Tones& instead) {
  Tones louder;
  bool news = false;
  std::vector<std::string> unsettled;
  for (const ComparedTone& tone : comparison.tones) {
    news = news || tone.change == ToneChange::appeared;
    if (is_base_of_new(comparison, tone)) continue;  // told already
    if (perhaps_new(tone))
      unsettled.push_back(unproven_words(tone));
    else if (&tone != howl && tone.change == ToneChange::louder &&
             !std::count(instead.begin(), instead.end(), &tone))
      louder.push_back(&tone);
  }
  std::string text;
  if (!unsettled.empty())
    text = fmt::format(" Heard after only, and not settled whether new: {}.",
                       fmt::join(unsettled, ", "));
  else if (!news && any_trusted(comparison))
    text = " Nothing new was found.";
  return text + louder_words(comparison, louder);
}

}  // namespace

std::string_view change_name(ToneChange change) {
  switch (change) {
    case ToneChange::gone:
      return "gone";
    case ToneChange::weaker:
      return "weaker";
    case ToneChange::unchanged:
      return "unchanged";
    case ToneChange::louder:
      return "louder";
    case ToneChange::appeared:
      return "new";
    case ToneChange::undetermined:
      break;
  }
  return "undetermined";
}

ToneChange judge_change(const LevelChange& change, const ToneFacts& facts) {
  const double paid = 1.0 - kFamilyError / static_cast<double>(facts.tones_compared);
  const double degrees = std::max(3.0, facts.rest_degrees);
  const ChangeEstimate& absolute = change.absolute;
  const Surely all = surely(absolute, 0.95, degrees);
  const Surely own = surely(change.relative, paid, degrees);

  if (facts.found_before && !facts.found_after && !facts.prominent_after && all.below(-kGoneDb) &&
      own.below(-kGoneDb))
    return ToneChange::gone;
  if (facts.found_after && !facts.found_before && !facts.prominent_before && all.above(kGoneDb) &&
      own.above(kGoneDb))
    return ToneChange::appeared;
  if (own.below(0.0) && least_fall(absolute) <= -kDifferentDb &&
      least_fall(change.relative) <= -kDifferentDb)
    return ToneChange::weaker;
  if (own.above(0.0) && least_rise(absolute) >= kDifferentDb &&
      least_rise(change.relative) >= kDifferentDb)
    return ToneChange::louder;
  const ChangeEstimate& relative = change.relative;
  if (relative.change_db && std::abs(*relative.change_db) < kDifferentDb &&
      surely(relative, 0.95, degrees).within(kGoneDb))
    return ToneChange::unchanged;
  return ToneChange::undetermined;
}

MeasuredChange measured_change(const LevelChange& change) {
  MeasuredChange m;
  m.before_db = full_scale(change.before.level_db);
  m.after_db = full_scale(change.after.level_db);
  m.before_below_db = *full_scale(change.before.upper_db);
  m.after_below_db = *full_scale(change.after.upper_db);
  m.change_db = change.absolute.change_db;
  m.ci95_db = {change.absolute.low_db, change.absolute.high_db};
  m.relative_change_db = change.relative.change_db;
  m.relative_ci95_db = {change.relative.low_db, change.relative.high_db};
  return m;
}

std::string tone_words(const ComparedTone& tone) {
  if (tone.order) return fmt::format("order {:.2f}", *tone.order);
  if (tone.frequency_hz.high < 1.03 * tone.frequency_hz.low)
    return fmt::format("{:.0f} Hz", 0.5 * (tone.frequency_hz.low + tone.frequency_hz.high));
  return fmt::format("{:.0f} … {:.0f} Hz", tone.frequency_hz.low, tone.frequency_hz.high);
}

std::string verdict_words(const Comparison& comparison, const ComparedTone* howl) {
  if (comparison.places.empty())
    return "Not proven: no take after has a partner before, at the same point, speed and load; "
           "what to record is said below.";
  const std::string news = new_words(comparison);
  if (howl == nullptr)
    return news + "Nothing howled in the case before, so there is no howl to compare." +
           rest_words(comparison, howl, {});
  const bool weaker = howl->change == ToneChange::gone || howl->change == ToneChange::weaker;
  const Tones instead = weaker ? howling_instead(comparison, *howl) : Tones{};
  return news + howl_words(*howl, !comparison.record_next.empty()) +
         instead_words(comparison, instead) + (weaker ? unsettled_words(comparison) : "") +
         rest_words(comparison, howl, instead);
}

}  // namespace howl
