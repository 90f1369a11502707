#include "src/reasoning/howl.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <utility>

#include "dsp/pitch_law.h"
#include "dsp/statistics.h"
#include "src/analysis/families.h"
#include "src/analysis/heard_base.h"
#include "src/analysis/pitch_ratio.h"
#include "src/analysis/speed_check.h"
#include "src/analysis/suspect_band.h"
#include "src/analysis/tone_speed.h"

namespace howl {

namespace {

constexpr double kCi95OverSigma = 2.0 * kNormal95;

LogEstimate from_interval(double value, const std::optional<Interval>& ci95, double sigma_else) {
  if (!ci95 || !(ci95->low > 0.0)) return {value, sigma_else};
  return {value, std::log(ci95->high / ci95->low) / kCi95OverSigma};
}

/// Weights of the laws are posterior; divided by their priors they are likelihoods.
Howl::LawSupport support_of(const ToneResult& tone) {
  Howl::LawSupport support;
  if (tone.laws.empty()) return support;
  const PitchLawParameters prior;
  struct Place {
    std::string_view name;
    double Howl::LawSupport::*support;
    double prior;
  };
  const std::array<Place, 5> places{{
      {law_name(Law::fixed), &Howl::LawSupport::fixed, prior.prior_fixed},
      {law_name(Law::locked), &Howl::LawSupport::locked, prior.prior_locked},
      {law_name(Law::belt), &Howl::LawSupport::belt, prior.prior_belt},
      {law_name(Law::road), &Howl::LawSupport::road, prior.prior_road},
      {law_name(Law::free), &Howl::LawSupport::free, prior.prior_free},
  }};
  double mean = 0.0;
  for (const Place& place : places) {
    const auto law = std::ranges::find(tone.laws, place.name, &FittedLaw::name);
    support.*place.support = law == tone.laws.end() ? -1.0 : law->weight / place.prior;
    if (law != tone.laws.end()) mean += law->weight / place.prior;
  }
  mean /= static_cast<double>(tone.laws.size());
  // A law that was not tried (no road speed) is neither supported nor refuted.
  for (const Place& place : places)
    support.*place.support =
        support.*place.support < 0.0 ? 1.0 : std::max(1e-12, support.*place.support / mean);
  return support;
}

LogEstimate scaled(LogEstimate estimate, double factor) {
  estimate.value *= factor;
  return estimate;
}

int harmonic_in(const FamilyResult& family, const ToneResult& tone) {
  const FamilyResult::Member* const member = member_of(family, tone);
  return member == nullptr ? 1 : std::max(1, member->harmonic);
}

bool has_second_harmonic(const FamilyResult& family) {
  return std::ranges::any_of(family.members, [](const FamilyResult::Member& member) {
    return member.harmonic >= 2 && member.sideband == 0;
  });
}

double middle_hertz(const ToneResult& tone) {
  return std::sqrt(tone.frequency_hz.low * tone.frequency_hz.high);
}

/// Whether a tone lies at twice a pitch, as far as it was heard at one speed.
bool is_heard_at_twice(const Analysis& analysis, double hertz) {
  constexpr double near = 0.005;
  return std::ranges::any_of(analysis.tones, [&](const ToneResult& tone) {
    return std::abs(middle_hertz(tone) / (2.0 * hertz) - 1.0) < near;
  });
}

/// Whether a tone that behaves alike is a multiple of this one in two takes at least. Three lines
/// or fewer are seldom proven a family, but few tones share a behaviour by chance as well.
bool is_multiple_heard(const Analysis& analysis, const ToneResult& tone) {
  if (tone.behaviour == Behaviour::undetermined || tone.behaviour == Behaviour::unlocked)
    return false;
  return std::ranges::any_of(analysis.tones, [&](const ToneResult& other) {
    if (other.behaviour != tone.behaviour || !can_be_the_howl(other)) return false;
    const auto ratio = pitch_ratio(other, tone);
    return ratio && ratio->takes >= 2 && whole_multiple(*ratio);
  });
}

/// A harmonic within what is searched, and below where a hand-held probe begins to colour. What
/// lies there without being proven to belong to it may as well be the engine's.
std::optional<bool> second_harmonic_of(const Analysis& analysis, const ToneResult& tone,
                                       const FamilyResult* family, const Howl& howl) {
  constexpr double searched_hz = 5000.0;
  if (family != nullptr && has_second_harmonic(*family)) return true;
  if (howl.harmonic > 1 || is_multiple_heard(analysis, tone)) return true;
  if (!howl.hertz) return false;
  if (2.0 * howl.hertz->value > searched_hz) return std::nullopt;
  if (!howl.speed_varied && is_heard_at_twice(analysis, howl.hertz->value)) return std::nullopt;
  return false;
}

void place_tone(const Analysis& analysis, const ToneResult& tone, Howl& howl) {
  const FamilyResult* family = family_of(tone, analysis.families);
  if (family != nullptr)
    howl.harmonic = harmonic_in(*family, tone);
  else if (const auto base = heard_base(analysis.tones, tone))
    howl.harmonic = base->harmonic;
  const double harmonic = howl.harmonic;
  if (tone.order_if_locked) howl.order = scaled(*tone.order_if_locked, 1.0 / harmonic);
  if (tone.order)
    howl.order = scaled(from_interval(*tone.order, tone.order_ci95, 0.005), 1.0 / harmonic);
  if (tone.cycles_per_metre_if_locked)
    howl.cycles_per_metre = scaled(*tone.cycles_per_metre_if_locked, 1.0 / harmonic);
  const double middle = middle_hertz(tone);
  if (middle > 0.0)
    howl.hertz = LogEstimate{
        middle / harmonic,
        std::max(1e-3, std::log(tone.frequency_hz.high / tone.frequency_hz.low) / kCi95OverSigma)};
  howl.second_harmonic = second_harmonic_of(analysis, tone, family, howl);
  if (family != nullptr && family->spacing && family->unit == FamilyResult::Unit::order)
    howl.sideband_order = from_interval(*family->spacing, family->spacing_ci95, 0.01);
}

std::string words_for(const ToneResult& tone) {
  if (tone.order)
    return fmt::format("order {:.2f}, {}{}", *tone.order, behaviour_name(tone.behaviour),
                       tone.drive == Drive::engine_or_road ? " to engine or road" : "");
  const std::string pitch =
      tone.frequency_hz.width() < 1.0
          ? fmt::format("{:.0f} Hz", tone.frequency_hz.low)
          : fmt::format("{:.0f} to {:.0f} Hz", tone.frequency_hz.low, tone.frequency_hz.high);
  if (tone.order_if_locked && tone.behaviour == Behaviour::undetermined)
    return fmt::format("{}, order {:.2f} if it follows the engine", pitch,
                       tone.order_if_locked->value);
  return fmt::format("{}, {}", pitch, behaviour_name(tone.behaviour));
}

/// Two tones that beat make one line, too; a row of harmonics in several takes is no beat.
bool proven(const ImpactResult& impact) {
  return impact.harmonics >= 3 || (impact.harmonics == 2 && impact.takes.size() > 1);
}

std::optional<Howl::Blows> blows_in(const Analysis& analysis) {
  const auto impact = std::ranges::find_if(analysis.impacts, proven);
  if (impact == analysis.impacts.end()) return std::nullopt;
  return Howl::Blows{from_interval(impact->order, impact->order_ci95, 0.005), impact->harmonics};
}

/// What a probe held by hand is off by at least (common practice).
constexpr double kHandDb = 2.0;

bool chance_known(const RankedPoint& point) { return point.probability_loudest.has_value(); }

/// An interval may be open at an end, where little is left over the background.
double sigma_of(const RankedPoint& point) {
  const double sigma = point.ci95_db ? point.ci95_db->width() / kCi95OverSigma : kHandDb;
  if (std::isfinite(sigma)) return std::max(kHandDb, sigma);
  const double above = 2.0 * (point.ci95_db->high - *point.level_db) / kCi95OverSigma;
  return std::isfinite(above) ? std::max(2.0 * kHandDb, above) : 10.0 * kHandDb;
}

std::vector<Howl::PointLevel> levels_of(const Analysis& analysis) {
  std::vector<Howl::PointLevel> levels;
  // Without chances the ranking could not tell points apart.
  if (std::ranges::none_of(analysis.ranking, &chance_known)) return levels;
  for (const RankedPoint& point : analysis.ranking) {
    if (!point.level_db || !std::isfinite(*point.level_db)) continue;
    if (!(point.probability_loudest || point.upper_bound)) continue;
    levels.push_back({point.point, point.probability_loudest.value_or(0.0), *point.level_db,
                      sigma_of(point), point.upper_bound});
  }
  return levels;
}

}  // namespace

namespace {

/// Levels by point, each off by a normal error of 4 dB (common practice for a probe held by hand),
/// and the chances of being the loudest.
std::vector<Howl::PointLevel> levels_of(const Analysis& analysis, const ToneResult& tone) {
  constexpr double sd_db = 4.0;
  constexpr double unheard_db = 20.0;  // at least so much below, where it was not followed
  constexpr double unheard = -1e3;
  std::map<std::string, double> level;
  for (const TakeResult& take : analysis.takes)
    if (!take.engine_off && !take.background) level.try_emplace(take.point, unheard);
  for (const TrackPoint& seen : tone.track) {
    const auto take = std::ranges::find(analysis.takes, seen.take, &TakeResult::id);
    if (take == analysis.takes.end() || !level.contains(take->point)) continue;
    level[take->point] = std::max(level[take->point], seen.level_db);
  }
  double most = unheard;
  for (const auto& [point, db] : level) most = std::max(most, db);
  double least = most;
  for (const auto& [point, db] : level)
    if (db > unheard) least = std::min(least, db);
  std::vector<Howl::PointLevel> levels;
  double sum = 0.0;
  for (const auto& [point, db] : level) {
    const double below = std::min(unheard_db, most - db);
    // Where it was not followed it is not louder than where it could just be.
    levels.push_back({point, std::exp(-0.5 * std::pow(below / sd_db, 2)), db > unheard ? db : least,
                      sd_db, db <= unheard});
    sum += levels.back().loudest;
  }
  for (Howl::PointLevel& each : levels) each.loudest /= sum;
  return levels;
}

void forget_speed(Howl& howl) {
  howl.laws = {};
  howl.pitch_settled = false;
  howl.in_one_gear = false;
  howl.speed_varied = false;
  howl.order.reset();
  howl.sideband_order.reset();
  howl.words = fmt::format("{:.0f} Hz, speed contradicted by the sound",
                           howl.hertz ? howl.hertz->value * howl.harmonic : 0.0);
}

/// Orders that a resonance lights up swell near its pitch: those that come by there.
bool swell_alike(double hertz, double other_hertz) {
  constexpr double near = 0.05;
  return std::abs(std::log(hertz / other_hertz)) < near;
}

/// The engine's firing makes its order, so that neither that nor what it follows tells who makes it
/// so loud at one pitch. Where two orders swell at one pitch, that stays where it is (our choice:
/// 16 times as likely as under any other law).
void know_pitch_only(const Analysis& analysis, const ToneResult& tone, Howl& howl) {
  const double hertz = *tone.swells_at_hz;
  const auto swelling = std::ranges::count_if(analysis.tones, [&](const ToneResult& other) {
    return other.swells_at_hz && swell_alike(hertz, *other.swells_at_hz);
  });
  howl.swells = true;
  howl.laws = swelling > 1 ? Howl::LawSupport{4.0, 0.25, 0.25, 0.25, 0.25} : Howl::LawSupport{};
  howl.pitch_settled = false;
  howl.order.reset();
  howl.sideband_order.reset();
  howl.second_harmonic.reset();
  howl.harmonic = 1;
  howl.hertz = LogEstimate{hertz, 0.005};
  howl.words += fmt::format(", which swells at {:.0f} Hz", hertz);
}

void describe(const Analysis& analysis, const ToneResult& tone, Howl& howl) {
  howl.id = tone.combustion ? tone.id : tone.family.value_or(tone.id);
  howl.words = words_for(tone);
  howl.level_db = tone.level_db;
  howl.laws = support_of(tone);
  howl.pitch_settled = tone.behaviour != Behaviour::undetermined;
  howl.in_one_gear = tone.drive == Drive::engine_or_road;
  howl.speed_varied = speed_varied(tone);
  howl.heard_standing = tone.heard_standing;
  howl.prominent = tone.prominent;
  howl.firing = tone.combustion;
  place_tone(analysis, tone, howl);
  if (tone.swells_at_hz) know_pitch_only(analysis, tone, howl);
  howl.wrong_speeds = contradicted_takes(analysis, tone);
  if (!howl.wrong_speeds.empty()) forget_speed(howl);
}

/// Half orders between the whole ones: every four-stroke engine makes them, as no two cylinders
/// fire alike, and few parts turn at half its speed.
bool is_half_order(const ToneResult& tone) {
  if (!tone.order_if_locked || tone.drive == Drive::belt) return false;
  if (tone.behaviour != Behaviour::speed_locked && tone.behaviour != Behaviour::undetermined)
    return false;
  return order_may_be(tone, std::floor(tone.order_if_locked->value) + 0.5);
}

}  // namespace

std::vector<Howl> prominent_howls(const Analysis& analysis) {
  constexpr std::size_t most = 12;
  std::vector<const ToneResult*> tones;
  for (const ToneResult& tone : analysis.tones)
    if (tone.prominent && can_be_the_howl(tone) && !tone.maybe_combustion && !is_half_order(tone))
      tones.push_back(&tone);
  std::ranges::stable_sort(tones, std::greater{}, &ToneResult::level_db);
  std::set<std::string> told;
  std::vector<Howl> howls;
  for (const ToneResult* tone : tones) {
    if (howls.size() == most || !told.insert(tone->family.value_or(tone->id)).second) continue;
    Howl howl;
    describe(analysis, *tone, howl);
    howl.points = levels_of(analysis, *tone);
    howls.push_back(std::move(howl));
  }
  return howls;
}

std::optional<Howl> observed_howl(const Analysis& analysis) {
  Howl howl;
  howl.blows = blows_in(analysis);
  const ToneResult* tone =
      analysis.suspect_band ? tone_in_band(analysis.tones, analysis.suspect_band->band) : nullptr;
  if (tone == nullptr && !howl.blows) return std::nullopt;
  howl.tone = tone != nullptr;
  howl.points = levels_of(analysis);
  howl.loads = analysis.load_changes;
  if (tone == nullptr) {
    const auto impact = std::ranges::find_if(analysis.impacts, proven);
    howl.id = impact->id;
    howl.words = fmt::format("blows, {:.2f} a crank turn", impact->order);
    return howl;
  }
  describe(analysis, *tone, howl);
  return howl;
}

bool may_be_harmonic_of(const Howl& other, const Howl& howl) {
  constexpr double off = 0.005;
  constexpr double most = 4.0;
  if (other.swells && howl.swells) return swell_alike(other.hertz->value, howl.hertz->value);
  const bool in_orders = other.pitch_settled && howl.pitch_settled && other.order && howl.order;
  if (!in_orders && (other.pitch_settled || howl.pitch_settled)) return false;
  if (!in_orders && !(other.hertz && howl.hertz)) return false;
  const double ratio =
      in_orders ? other.order->value / howl.order->value : other.hertz->value / howl.hertz->value;
  const double multiple = std::round(ratio);
  if (!(multiple >= 1.0) || multiple > most || std::abs(std::log(ratio / multiple)) > off)
    return false;
  if (multiple == 1.0) return other.harmonic != howl.harmonic;
  return other.level_db <= howl.level_db;
}

}  // namespace howl
