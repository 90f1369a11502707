#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <set>
#include <string>
#include <variant>
#include <vector>

#include "dsp/statistics.h"
#include "src/demo/blind_case.h"
#include "src/demo/demo_take.h"
#include "src/reasoning/hypotheses.h"

namespace howl::perfect_ear {

// How often could the source be named at best? The vehicles of the blind trial are drawn from known
// distributions. Whoever heard without any error, and knew all these distributions, would judge by
// Bayes's rule; no method can be right oftener (Berger 1985, Statistical Decision Theory and
// Bayesian Analysis, section 4.4.1: the posterior mode has least risk for 0-1 loss). It is told
// which howl is complained of, its pitch to 0.1 %, by which law that goes if more than one speed
// was recorded, all levels, sidebands, blows and changes under load without error, and what the
// workshop found.

inline constexpr double kPitchError =
    0.001;  // of a hold's order; narrower than any speed that is entered
inline constexpr double kStraysDb = 6.0;    // of levels at points; src/demo/blind_case.h
inline constexpr double kOddVehicle = 0.2;  // of vehicles, in which they stray twice as far
inline constexpr double kOtherwise = 0.1;   // of reactions that are not the profile's
inline constexpr double kSameDb = 0.7;      // of a level that a load does not change
inline constexpr double kChangedDb = 6.0;   // mean of one that it does, and its spread
inline constexpr double kChangedSdDb = 3.0;

inline double share_of(const Interval& range, double low, double high) {
  if (range.high > range.low)
    return std::max(0.0, std::min(high, range.high) - std::max(low, range.low)) /
           (range.high - range.low);
  return range.low >= low && range.low <= high ? 1.0 : 0.0;
}

/// Chance that turns × counts falls within `kPitchError` of `pitch`, turns being spread evenly.
inline double chance_of_pitch(const Interval& turns, const Makes& makes, double pitch) {
  const auto at = [&](double count) {
    return share_of(turns, pitch / count * (1.0 - kPitchError),
                    pitch / count * (1.0 + kPitchError));
  };
  double sum = 0.0;
  if (makes.whole_numbers) {
    const double first = std::ceil(makes.per_turn.low);
    const double last = std::floor(makes.per_turn.high);
    for (double count = first; count <= last; ++count) sum += at(count);
    return sum / (last - first + 1.0);
  }
  constexpr int kParts = 400;
  if (makes.per_turn.high <= makes.per_turn.low) return at(makes.per_turn.low);
  if (turns.high <= turns.low)
    return share_of(makes.per_turn, pitch / turns.low * (1.0 - kPitchError),
                    pitch / turns.low * (1.0 + kPitchError));
  for (int i = 0; i < kParts; ++i)
    sum += at(makes.per_turn.low + (makes.per_turn.high - makes.per_turn.low) * (i + 0.5) / kParts);
  return sum / kParts;
}

inline double chance_of_pitch(const Interval& turns, const std::vector<Makes>& all, double pitch) {
  if (all.empty()) {
    const Makes any{.what = "", .per_turn = {5.0, 20.0}, .whole_numbers = true};
    return chance_of_pitch(turns, any, pitch);
  }
  double sum = 0.0;
  double shares = 0.0;
  for (const Makes& makes : all) {
    sum += makes.share * chance_of_pitch(turns, makes, pitch);
    shares += makes.share;
  }
  return sum / shares;
}

inline double chance_of_hertz(const std::optional<Interval>& known, double top, double hertz) {
  if (known) return share_of(*known, hertz * (1.0 - kPitchError), hertz * (1.0 + kPitchError));
  const bool within = hertz >= 150.0 && hertz <= top;
  return within ? 2.0 * kPitchError / std::log(top / 150.0) : 0.0;
}

/// What a perfect ear hears of the pitch, at the speed of the first takes.
struct Heard {
  double hertz{};
  std::optional<double> shaft_hertz;  ///< how far sidebands lie apart
  double crank_hertz{};
  double metres_a_second{};
  /// Place in `Turning`; none where one speed alone was recorded, which cannot tell it.
  std::optional<std::size_t> law;
};

/// Turns of the driven pulley per turn of the crank, with the mean of the belt's slip.
inline double turns_of_pulley(const BeltDrive& drive) {
  return drive.ratio * (1.0 - 0.5 * (drive.slip.bounds.low + drive.slip.bounds.high));
}

struct HeardOfKind {
  const Heard& at;
  Heard operator()(const CrankDrive& d) const { return with(d.order * at.crank_hertz, 0); }
  Heard operator()(const BeltDrive& d) const {
    return with(turns_of_pulley(d) * d.per_turn * at.crank_hertz, 1);
  }
  Heard operator()(const RoadDrive& d) const {
    return with(d.cycles_per_metre * at.metres_a_second, 2);
  }
  Heard operator()(const FixedPitch& d) const { return with(d.frequency_hz, 3); }
  Heard operator()(const FreePitch& d) const { return with(d.frequency_hz, 3); }
  Heard operator()(const Resonance& d) const { return with(d.frequency_hz, 4); }
  Heard operator()(const NoiseBand& d) const { return with(d.frequency_hz, 4); }

  Heard with(double hertz, std::size_t law) const {
    Heard heard = at;
    heard.hertz = hertz;
    heard.law = law;
    return heard;
  }
};

inline double turns_of_shaft(const BlindCase& blind, const Heard& heard) {
  const RecipeSource& culprit = blind.recipe.culprit();
  const double turns = culprit.modulation->cycles_per_turn;
  if (const auto* belt = std::get_if<BeltDrive>(&culprit.kind))
    return turns_of_pulley(*belt) * heard.crank_hertz * turns;
  return turns * (heard.law == 2 ? heard.metres_a_second : heard.crank_hertz);
}

inline Heard heard_of(const BlindCase& blind) {
  const std::vector<RecipeTakes>& takes = blind.recipe.takes;
  Heard at;
  at.crank_hertz = takes.front().speed.front().speed.value / 60.0;
  at.metres_a_second = takes.front().road_speed_kmh.value_or(0.0) / 3.6;
  Heard heard = std::visit(HeardOfKind{at}, blind.recipe.culprit().kind);
  if (blind.recipe.culprit().modulation) heard.shaft_hertz = turns_of_shaft(blind, heard);
  const bool several = std::ranges::any_of(takes, [&](const RecipeTakes& each) {
    return each.speed.size() > 1 || each.speed.front().speed != takes.front().speed.front().speed;
  });
  if (!several) heard.law.reset();
  return heard;
}

/// Chance of the pitch on a shaft that turns within the limits, and of that shaft.
inline double chance_on_shaft(const Interval& turns, const std::vector<Makes>& makes,
                              const Heard& heard) {
  Interval seen = turns;
  if (heard.shaft_hertz)
    seen = {std::max(turns.low, *heard.shaft_hertz * (1.0 - kPitchError)),
            std::min(turns.high, *heard.shaft_hertz * (1.0 + kPitchError))};
  if (seen.high < seen.low) return 0.0;
  return share_of(turns, seen.low, seen.high) * chance_of_pitch(seen, makes, heard.hertz);
}

struct PitchUnder {
  const Source& source;
  const Heard& heard;

  double operator()(const CrankTurning& turning) const {
    return on_shaft(turning.ratio, heard.crank_hertz);
  }
  double operator()(const BeltTurning& turning) const {
    return on_shaft({turning.ratio.low * (1.0 - turning.slip.high),
                     turning.ratio.high * (1.0 - turning.slip.low)},
                    heard.crank_hertz);
  }
  double operator()(const RoadTurning& turning) const {
    return heard.metres_a_second > 0.0 ? on_shaft(turning.turns_per_metre, heard.metres_a_second)
                                       : 0.0;
  }
  double operator()(const FreeTurning& turning) const {
    return chance_of_hertz(turning.hertz, 2000.0, heard.hertz);
  }
  double operator()(const Ringing& turning) const {
    return chance_of_hertz(turning.hertz, 1500.0, heard.hertz);
  }

  double on_shaft(const Interval& turns, double hertz) const {
    return chance_on_shaft({turns.low * hertz, turns.high * hertz}, source.makes, heard);
  }
};

/// Chance of what was heard of the pitch, if the source made it.
inline double chance_of_heard(const Source& source, const Heard& heard) {
  if (heard.law && *heard.law != source.turning.index()) return 0.0;
  return std::visit(PitchUnder{source, heard}, source.turning);
}

inline double log_normal_density(double x, double mean, double sd) {
  return -0.5 * std::pow((x - mean) / sd, 2) - std::log(sd * std::sqrt(2.0 * std::numbers::pi));
}

inline double reaction_density(Reaction reaction, double change_db) {
  switch (reaction) {
    case Reaction::louder:
    case Reaction::starts:
      return std::exp(log_normal_density(change_db, kChangedDb, kChangedSdDb));
    case Reaction::quieter:
      return std::exp(log_normal_density(change_db, -kChangedDb, kChangedSdDb));
    case Reaction::stops:
      return std::exp(log_normal_density(change_db, -60.0, kSameDb));
    case Reaction::same:
      return std::exp(log_normal_density(change_db, 0.0, kSameDb));
    case Reaction::unknown:
      break;
  }
  return 0.5 * reaction_density(Reaction::same, change_db) +
         0.25 * reaction_density(Reaction::louder, change_db) +
         0.15 * reaction_density(Reaction::quieter, change_db) +
         0.1 * reaction_density(Reaction::stops, change_db);
}

inline double log_chance_of_reactions(const Source* source, const BlindCase& blind) {
  double sum = 0.0;
  std::set<std::string> seen;
  for (const RecipeTakes& takes : blind.recipe.takes)
    for (const auto& [test, value] : takes.load) {
      if (!seen.insert(test).second) continue;
      const auto& effects = blind.recipe.culprit().effects;
      const auto effect = std::ranges::find_if(
          effects, [&](const LoadEffect& each) { return each.load.contains(test); });
      if (effect == effects.end()) continue;
      const double generic = reaction_density(Reaction::unknown, effect->level_db);
      double density = generic;
      if (source != nullptr && source->reacts.contains(test))
        density = (1.0 - kOtherwise) * reaction_density(source->reacts.at(test), effect->level_db) +
                  kOtherwise * generic;
      sum += std::log(density + 1e-12);
    }
  return sum;
}

/// Levels relative to each other; how loud it is as a whole tells nothing.
inline double log_chance_of_levels(const Source* source, const BlindCase& blind) {
  std::set<std::string> points;
  for (const RecipeTakes& takes : blind.recipe.takes)
    points.insert(takes.points.begin(), takes.points.end());
  std::vector<double> strays;
  double mean = 0.0;
  for (const std::string& point : points) {
    double expected = 12.0;
    if (source != nullptr)
      expected =
          source->below_db.contains(point) ? source->below_db.at(point) : source->elsewhere_db;
    strays.push_back(blind.recipe.culprit().below_db.at(point) - expected);
    mean += strays.back() / static_cast<double>(points.size());
  }
  double squares = 0.0;
  for (const double stray : strays) squares += std::pow((stray - mean) / kStraysDb, 2);
  // Of their differences, one fewer than the levels.
  const double odd = std::pow(0.5, static_cast<double>(strays.size()) - 1.0);
  return std::log((1.0 - kOddVehicle) * std::exp(-0.5 * squares) +
                  kOddVehicle * odd * std::exp(-0.125 * squares) + 1e-300);
}

inline double chance_of_facts(const std::string& cause, const BlindCase& blind,
                              const std::vector<WorkshopFact>& facts) {
  double product = 1.0;
  for (const auto& [key, value] : blind.facts)
    product *= chance_of(*find_fact(facts, key), cause, value);
  return product;
}

inline double log_chance_of_facts(const Source* source, const BlindCase& blind,
                                  const std::vector<WorkshopFact>& facts) {
  if (source == nullptr || source->causes.empty())
    return std::log(chance_of_facts("", blind, facts));
  double sum = 0.0;
  for (const Cause& cause : source->causes)
    sum += cause.share * chance_of_facts(cause.id, blind, facts);
  return std::log(sum);
}

inline double yes_or_no(bool yes, double chance) { return std::log(yes ? chance : 1.0 - chance); }

inline double log_chance_of_lines(const Source& source, const RecipeSource& culprit) {
  double sum = yes_or_no(culprit.harmonics_db.size() > 1,
                         std::clamp(source.chance_of_harmonics, 0.001, 0.999));
  if (!std::holds_alternative<FreeTurning>(source.turning) &&
      !std::holds_alternative<Ringing>(source.turning))
    sum += yes_or_no(culprit.modulation.has_value(),
                     std::clamp(source.chance_of_sidebands, 0.001, 0.999));
  constexpr double striking = 0.5;
  if (source.strikes) return sum + yes_or_no(culprit.blows.has_value(), striking);
  return culprit.blows ? -1e9 : sum;
}

/// As blind_case.cpp draws it: one of four laws, its order anywhere from 2 to 60.
inline double chance_of_unlisted(const Heard& heard) {
  const double order = heard.hertz / heard.crank_hertz;
  const double on_engine = order >= 2.0 && order <= 60.0 ? 2.0 * kPitchError / std::log(30.0) : 0.0;
  double sum = 0.0;
  if (!heard.law || *heard.law <= 1) sum += on_engine * (heard.law ? 1.0 : 2.0);
  if (!heard.law || *heard.law == 3) sum += chance_of_hertz({}, 2000.0, heard.hertz);
  if (!heard.law || *heard.law == 4) sum += chance_of_hertz({}, 1500.0, heard.hertz);
  return 0.25 * sum;
}

/// Log posterior, up to a constant, of each source and, last, of what is not listed.
inline std::vector<double> perfect_posterior(const BlindCase& blind, const Profile& profile,
                                             const std::vector<WorkshopFact>& facts) {
  const RecipeSource& culprit = blind.recipe.culprit();
  const Heard heard = heard_of(blind);
  std::vector<double> log_posterior;
  const double prior = (1.0 - kChanceOfTheRest) / static_cast<double>(profile.sources.size());
  for (const Source& source : profile.sources)
    log_posterior.push_back(
        std::log(prior) + std::log(chance_of_heard(source, heard) + 1e-12) +
        log_chance_of_lines(source, culprit) + log_chance_of_levels(&source, blind) +
        log_chance_of_reactions(&source, blind) + log_chance_of_facts(&source, blind, facts));
  Source any;
  any.turning = CrankTurning{};
  log_posterior.push_back(std::log(kChanceOfTheRest) + std::log(chance_of_unlisted(heard) + 1e-12) +
                          log_chance_of_lines(any, culprit) + log_chance_of_levels(nullptr, blind) +
                          log_chance_of_reactions(nullptr, blind) +
                          log_chance_of_facts(nullptr, blind, facts));
  return log_posterior;
}

/// Place of the likeliest, and its chance.
struct Likeliest {
  std::size_t place{};
  double chance{};
};

inline Likeliest likeliest(const std::vector<double>& log_posterior) {
  const auto best = std::ranges::max_element(log_posterior);
  double sum = 0.0;
  for (const double each : log_posterior) sum += std::exp(each - *best);
  return {static_cast<std::size_t>(best - log_posterior.begin()), 1.0 / sum};
}

}  // namespace howl::perfect_ear
