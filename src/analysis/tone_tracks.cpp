#include "src/analysis/tone_tracks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

#include "dsp/statistics.h"
#include "src/analysis/half_order_ruler.h"

namespace howl {

namespace {

constexpr double kMatchSigmas = 3.0;
constexpr double kJoinSigmas = 2.5;
constexpr double kSameSpeed = 0.02;  // ln n: holds this close are one station
constexpr double kSameLine = 0.006;  // ln f: the same tone in two takes of one station
constexpr double kAlikeDb = 12.0;
constexpr double kStrengthRangeDb = 40.0;                     // over which strengths of tones lie
constexpr std::array<double, 2> kDensityReaches{0.35, 0.06};  // ln f on either side
constexpr double kLeastDensity = 0.5;                         // tones a unit of ln f

bool ran_in_one_gear(const std::vector<Sighting>& pool, double least_change) {
  double low = 1e300;
  double high = 0.0;
  for (const Sighting& s : pool)
    for (const PitchPoint& p : s.points) {
      if (!(p.road_speed_kmh.value_or(0.0) > 0.0)) continue;
      low = std::min(low, p.rpm / *p.road_speed_kmh);
      high = std::max(high, p.rpm / *p.road_speed_kmh);
    }
  return high > 0.0 && high < least_change * low;
}

/// How to link, and what the takes say of their speeds.
struct Linking : LinkParameters {
  HalfOrderRulers rulers;  ///< what their own half orders say

  bool one_gear;  ///< wherever road speed was noted, engine and road ran in step

  Linking(const LinkParameters& parameters, const std::vector<Sighting>& pool)
      : LinkParameters(parameters),
        rulers(half_order_rulers(pool)),
        one_gear(ran_in_one_gear(pool, parameters.law.least_speed_ratio)) {}
  const HalfOrderRuler* ruler(std::size_t take) const {
    const auto found = rulers.find(take);
    return found == rulers.end() ? nullptr : &found->second;
  }
  double log_scale(std::size_t take) const {
    const HalfOrderRuler* const own = ruler(take);
    return own ? own->log_scale : 0.0;
  }
};

double measured_sigma(const PitchPoint& p) { return p.sigma_hz / p.frequency_hz; }

double log_order(const PitchPoint& p) { return std::log(p.frequency_hz) - std::log(p.rpm / 60.0); }

/// The law that a track's behaviour stands for, as the value that stays constant along it.
double log_value(Behaviour law, const PitchPoint& p, const Linking& q) {
  const double y = std::log(p.frequency_hz);
  if (law == Behaviour::speed_locked) return log_order(p) - q.log_scale(p.take);
  if (law == Behaviour::road_locked) return y - std::log(*p.road_speed_kmh);
  return y;
}

bool applies(Behaviour law, const PitchPoint& p) {
  return law != Behaviour::road_locked || (p.road_speed_kmh && *p.road_speed_kmh > 0.0);
}

/// What comes and goes within a hold moves, whatever its pitch is in the mean.
bool can_stand(Behaviour law, bool passes) { return law != Behaviour::fixed_pitch || !passes; }

/// Error of one point under a law, the speed's own left out.
double own_sigma(Behaviour law, const PitchPoint& p, const Linking& q) {
  return std::hypot(measured_sigma(p),
                    law == Behaviour::fixed_pitch ? q.fixed_sigma : q.slip_sigma);
}

/// Error of the speed that a law leans on.
double shared_sigma(Behaviour law, const PitchPoint& p, const Linking& q) {
  constexpr double road_speed_sigma = 0.01;
  if (law == Behaviour::speed_locked) {
    const HalfOrderRuler* const own = q.ruler(p.take);
    return own ? own->sigma : p.speed_sigma;
  }
  return law == Behaviour::road_locked ? road_speed_sigma : 0.0;
}

double law_sigma(Behaviour law, const PitchPoint& p, const Linking& q) {
  return std::hypot(own_sigma(law, p, q), shared_sigma(law, p, q));
}

/// Where a sighting lies by the ruler of its take: a line within its error, a ridge within a decile
/// of its points.
RulerPlace place_of(const Sighting& s, const Linking& q) {
  const HalfOrderRuler* const ruler = q.ruler(s.take);
  if (!ruler) return RulerPlace::unsure;
  constexpr double deciles_in_sigmas = 2.563;
  std::vector<double> orders;
  std::vector<double> sigmas;
  for (const PitchPoint& p : s.points) {
    orders.push_back(log_order(p));
    sigmas.push_back(measured_sigma(p));
  }
  const double spread = (quantile(orders, 0.9) - quantile(orders, 0.1)) / deciles_in_sigmas;
  return ruler->place(median(orders), s.followed ? spread : median(sigmas));
}

/// One is a line of the engine's own cycle and the other is surely none, as near as they may lie.
bool engine_against_other(RulerPlace a, RulerPlace b) {
  return (a == RulerPlace::on_half_order && b == RulerPlace::between) ||
         (a == RulerPlace::between && b == RulerPlace::on_half_order);
}

/// What the longest-followed sighting of a track that has a ruler says.
RulerPlace place_of(const ToneTrack& track, const Linking& q) {
  RulerPlace place = RulerPlace::unsure;
  std::size_t most = 0;
  for (const Sighting& s : track.sightings) {
    const RulerPlace own = place_of(s, q);
    if (own == RulerPlace::unsure || s.points.size() <= most) continue;
    place = own;
    most = s.points.size();
  }
  return place;
}

template <typename T>
void append(std::vector<T>& to, std::vector<T> more) {
  std::move(more.begin(), more.end(), std::back_inserter(to));
}

// ---- ridges first ------------------------------------------------------------------------------

/// Where a run of points lies: the middle of what its law keeps constant.
struct Level {
  double value;        // ln of what stays constant
  double spread;       // from the lowest to the highest decile
  double sigma;        // without the speed's error
  double speed_sigma;  // of the speed, shared by each take
  std::size_t take;    // of the points; the first one's
  bool one_take;
};

Level level_of(Behaviour law, const std::vector<PitchPoint>& points, const Linking& q) {
  std::vector<double> values;
  Level level{0.0, 0.0, 0.0, 0.0, points.front().take, true};
  for (const PitchPoint& p : points) {
    values.push_back(log_value(law, p, q));
    level.sigma = std::max(level.sigma, own_sigma(law, p, q));
    level.speed_sigma = std::max(level.speed_sigma, shared_sigma(law, p, q));
    level.one_take = level.one_take && p.take == level.take;
  }
  level.value = median(values);
  level.spread = quantile(values, 0.9) - quantile(values, 0.1);
  return level;
}

/// How many standard deviations a sighting lies from a track; none if it is too far or slopes away.
std::optional<double> distance(Behaviour law, const Level& track, const Sighting& s,
                               const Linking& q) {
  if (!can_stand(law, s.passes)) return std::nullopt;
  if (!std::all_of(s.points.begin(), s.points.end(),
                   [&](const PitchPoint& p) { return applies(law, p); }))
    return std::nullopt;
  const Level own = level_of(law, s.points, q);
  const bool same_take = track.one_take && own.take == track.take;
  const double speed = same_take ? 0.0 : std::hypot(own.speed_sigma, track.speed_sigma);
  const double sigma = std::hypot(own.sigma, speed);
  const double away = std::abs(own.value - track.value) / sigma;
  if (away > kJoinSigmas || own.spread > 2.0 * kJoinSigmas * sigma) return std::nullopt;
  return away;
}

bool can_attract(Behaviour behaviour) {
  return behaviour == Behaviour::speed_locked || behaviour == Behaviour::fixed_pitch ||
         behaviour == Behaviour::road_locked;
}

/// A weak or brief ridge that obeys no law, or one across a resonance, is more likely followed
/// badly than unlocked.
bool too_poor_for_unlocked(const Sighting& s) {
  constexpr double least_tone_to_noise_db = 3.0;
  constexpr double least_seconds = 3.0;
  return s.crosses_hump || s.tone_to_noise_db < least_tone_to_noise_db || s.seconds < least_seconds;
}

std::vector<ToneTrack> judge_ridges(std::vector<Sighting>& pool, const Linking& q) {
  std::vector<ToneTrack> tracks;
  const auto rest = std::stable_partition(pool.begin(), pool.end(),
                                          [](const Sighting& s) { return !s.followed; });
  for (auto it = rest; it != pool.end(); ++it) {
    PitchVerdict verdict = judge_pitch(it->points, q.law);
    if (verdict.behaviour == Behaviour::unlocked && too_poor_for_unlocked(*it)) {
      verdict.behaviour = Behaviour::undetermined;
      verdict.doubt = PitchDoubt::laws_too_close;
    }
    tracks.push_back({{std::move(*it)}, std::move(verdict)});
  }
  pool.erase(rest, pool.end());
  // The best supported first: they attract the others.
  std::stable_sort(tracks.begin(), tracks.end(), [](const ToneTrack& a, const ToneTrack& b) {
    return a.verdict.speed_ratio *
               std::sqrt(static_cast<double>(a.sightings.front().points.size())) >
           b.verdict.speed_ratio *
               std::sqrt(static_cast<double>(b.sightings.front().points.size()));
  });
  return tracks;
}

/// A sighting that may belong to a track.
struct TrackCandidate {
  std::size_t index;
  double away;  // standard deviations
  RulerPlace place;
};

/// By take, nearest first.
using TrackCandidates = std::map<std::size_t, std::vector<TrackCandidate>>;

TrackCandidates candidates_for(const ToneTrack& track, Behaviour law,
                               const std::vector<Sighting>& from, const Linking& q) {
  const Level level = level_of(law, track.points(), q);
  TrackCandidates candidates;
  for (std::size_t i = 0; i < from.size(); ++i)
    if (const auto away = distance(law, level, from[i], q))
      candidates[from[i].take].push_back({i, *away, place_of(from[i], q)});
  for (auto& [take, own] : candidates)
    std::stable_sort(own.begin(), own.end(), [](const TrackCandidate& a, const TrackCandidate& b) {
      return a.away < b.away;
    });
  return candidates;
}

/// Of a track that no ruler measured: most takes that offer a line of the engine's own and another
/// one show by the nearer of both which of them it is.
RulerPlace place_by_neighbours(const TrackCandidates& candidates) {
  int votes = 0;
  for (const auto& entry : candidates) {
    const std::vector<TrackCandidate>& own = entry.second;
    const bool both = std::any_of(own.begin(), own.end(), [&](const TrackCandidate& c) {
      return engine_against_other(own.front().place, c.place);
    });
    if (both) votes += own.front().place == RulerPlace::between ? 1 : -1;
  }
  if (votes == 0) return RulerPlace::unsure;
  return votes > 0 ? RulerPlace::between : RulerPlace::on_half_order;
}

/// Moves the sightings of `from` that run along `track` into it, of each take the nearest one. A
/// line of the engine's own cycle is never taken for another tone: where that one's own line is
/// masked, the take does not show it.
void attract(ToneTrack& track, Behaviour law, std::vector<Sighting>& from, const Linking& q) {
  const TrackCandidates candidates = candidates_for(track, law, from, q);
  RulerPlace place = RulerPlace::unsure;
  if (law == Behaviour::speed_locked) {
    place = place_of(track, q);
    if (place == RulerPlace::unsure) place = place_by_neighbours(candidates);
  }
  std::vector<bool> gone(from.size(), false);
  for (const auto& [take, own] : candidates) {
    const auto chosen = std::find_if(own.begin(), own.end(), [&](const TrackCandidate& c) {
      return !engine_against_other(place, c.place);
    });
    if (chosen != own.end()) gone[chosen->index] = true;
  }
  std::vector<Sighting> rest;
  for (std::size_t i = 0; i < from.size(); ++i)
    (gone[i] ? track.sightings : rest).push_back(std::move(from[i]));
  from = std::move(rest);
}

/// The laws along which a track may go on: both where engine and road ran in step.
std::vector<Behaviour> laws_along(const ToneTrack& track) {
  const Behaviour own = track.verdict.behaviour;
  if (!can_attract(own)) return {};
  if (track.verdict.in_one_gear && own == Behaviour::speed_locked)
    return {Behaviour::speed_locked, Behaviour::road_locked};
  return {own};
}

bool contains(const std::vector<Behaviour>& laws, Behaviour law) {
  return std::find(laws.begin(), laws.end(), law) != laws.end();
}

bool all_apply(Behaviour law, const ToneTrack& track) {
  const std::vector<PitchPoint> points = track.points();
  return std::all_of(points.begin(), points.end(),
                     [&](const PitchPoint& p) { return applies(law, p); });
}

/// Whether a ridge goes on where a track goes, by one law.
bool runs_along(const ToneTrack& track, Behaviour law, const ToneTrack& ridge, const Linking& q) {
  if (!all_apply(law, track)) return false;
  if (law == Behaviour::speed_locked &&
      engine_against_other(place_of(track, q), place_of(ridge, q)))
    return false;
  return distance(law, level_of(law, track.points(), q), ridge.sightings.front(), q).has_value();
}

/// Joins ridges of one law (pieces of one tone, or the same tone in other sweeps).
std::vector<ToneTrack> join_ridges(std::vector<ToneTrack> tracks, const Linking& q) {
  std::vector<ToneTrack> joined;
  for (ToneTrack& track : tracks) {
    const auto home = std::find_if(joined.begin(), joined.end(), [&](const ToneTrack& j) {
      const std::vector<Behaviour> own = laws_along(track);
      const bool open = track.verdict.behaviour == Behaviour::undetermined;
      const std::vector<Behaviour> laws = laws_along(j);
      return std::any_of(laws.begin(), laws.end(), [&](Behaviour law) {
        return (open || contains(own, law)) && runs_along(j, law, track, q);
      });
    });
    if (home == joined.end())
      joined.push_back(std::move(track));
    else
      home->sightings.push_back(std::move(track.sightings.front()));
  }
  // Pieces that agree with one another one by one may still disagree as a whole.
  for (ToneTrack& track : joined)
    if (track.sightings.size() > 1) track.verdict = judge_pitch(track.points(), q.law);
  return joined;
}

/// Judges again with all points; what the first sweep settled is not unsettled by what joined.
void judge_again(ToneTrack& track, const Linking& q) {
  const std::vector<Behaviour> settled = laws_along(track);
  PitchVerdict all = judge_pitch(track.points(), q.law);
  if (contains(settled, all.behaviour)) track.verdict = std::move(all);
}

/// Whether a ridge keeps one order, in a take whose road speed was not noted.
bool lacks_road_speed(const ToneTrack& track) {
  return track.verdict.behaviour == Behaviour::undetermined &&
         track.verdict.doubt == PitchDoubt::road_and_engine_together;
}

/// Where all that is known was driven in one gear, a ridge without road speed is taken for that
/// gear's if lines of takes with one run along it.
void attract_in_one_gear(ToneTrack& track, std::vector<Sighting>& from, const Linking& q) {
  ToneTrack more = track;
  std::vector<Sighting> left = from;
  attract(more, Behaviour::speed_locked, left, q);
  more.verdict = judge_pitch(more.points(), q.law);
  if (more.verdict.behaviour != Behaviour::speed_locked) return;
  track = std::move(more);
  from = std::move(left);
}

/// Of a track that may follow engine or road: which of the two, if the lines in other takes that
/// run along it by that law tell them apart.
Behaviour law_to_attract_by(const ToneTrack& track, const std::vector<Sighting>& pool,
                            const Linking& q) {
  const Behaviour own = track.verdict.behaviour;
  if (track.verdict.drive != Drive::engine_or_road || !all_apply(Behaviour::road_locked, track))
    return own;
  ToneTrack by_road = track;
  std::vector<Sighting> left = pool;
  attract(by_road, Behaviour::road_locked, left, q);
  judge_again(by_road, q);
  return by_road.verdict.behaviour == Behaviour::road_locked ? Behaviour::road_locked : own;
}

// ---- holds -------------------------------------------------------------------------------------

/// The same line in all takes of one speed.
struct StationTone {
  std::size_t station;
  PitchPoint point;         ///< the strongest member's
  double tone_to_noise_db;  ///< likewise
  bool passes;              ///< likewise
  RulerPlace place;         ///< likewise
  std::vector<std::size_t> members;
};

std::vector<std::size_t> station_numbers(const std::vector<Sighting>& pool) {
  std::vector<std::size_t> by_speed(pool.size());
  for (std::size_t i = 0; i < by_speed.size(); ++i) by_speed[i] = i;
  std::sort(by_speed.begin(), by_speed.end(), [&](std::size_t a, std::size_t b) {
    return pool[a].points.front().rpm < pool[b].points.front().rpm;
  });
  const auto road = [&](std::size_t i) {
    return pool[i].points.front().road_speed_kmh.value_or(0.0);
  };
  std::vector<std::size_t> station(pool.size());
  std::vector<std::size_t> first_of;
  for (const std::size_t i : by_speed) {
    const double x = std::log(pool[i].points.front().rpm);
    const auto home = std::find_if(first_of.begin(), first_of.end(), [&](std::size_t f) {
      return std::abs(std::log(pool[f].points.front().rpm) - x) < kSameSpeed &&
             std::abs(road(f) - road(i)) < 1.0;
    });
    station[i] = static_cast<std::size_t>(home - first_of.begin());
    if (home == first_of.end()) first_of.push_back(i);
  }
  return station;
}

std::vector<StationTone> station_tones(const std::vector<Sighting>& pool, const Linking& q) {
  const std::vector<std::size_t> station = station_numbers(pool);
  std::vector<StationTone> tones;
  for (std::size_t i = 0; i < pool.size(); ++i) {  // strongest sightings of a take come first
    const PitchPoint& p = pool[i].points.front();
    const auto home = std::find_if(tones.begin(), tones.end(), [&](const StationTone& t) {
      if (t.station != station[i]) return false;
      const bool same_take = std::any_of(t.members.begin(), t.members.end(), [&](std::size_t m) {
        return pool[m].take == pool[i].take;
      });
      return !same_take && std::abs(std::log(t.point.frequency_hz / p.frequency_hz)) < kSameLine;
    });
    if (home == tones.end())
      tones.push_back(
          {station[i], p, pool[i].tone_to_noise_db, pool[i].passes, place_of(pool[i], q), {i}});
    else
      home->members.push_back(i);
  }
  return tones;
}

/// Two holds show one tone, though not what it follows: judge_pitch asks for more.
constexpr std::size_t kFewestHolds = 2;

struct Hypothesis {
  Behaviour law{};
  double log_odds{-1e300};         ///< against chance
  std::vector<std::size_t> tones;  ///< into station tones, one a station
  double speed_ratio{1.0};
};

/// A tone keeps its strength from speed to speed within this; what differs more is another tone.
bool alike(const StationTone& a, const StationTone& b) {
  return std::abs(a.tone_to_noise_db - b.tone_to_noise_db) <= kAlikeDb;
}

/// How many other tones a unit of ln f holds around one of its station: about it, or close by,
/// where a pitch that wanders falls into several.
double local_density(const std::vector<StationTone>& tones, const StationTone& match) {
  double most = 0.0;
  for (const double reach : kDensityReaches) {
    double count = 0.0;
    for (const StationTone& t : tones)
      if (&t != &match && t.station == match.station &&
          std::abs(std::log(t.point.frequency_hz / match.point.frequency_hz)) < reach)
        count += 1.0;
    most = std::max(most, count / (2.0 * reach));
  }
  return most + kLeastDensity;
}

/// How much better a tone's strength fits that of `seed` than that of any tone of its station.
double strength_ratio(const std::vector<StationTone>& tones, const StationTone& match,
                      const StationTone& seed, const Linking& q) {
  double any = 1.0 / kStrengthRangeDb;
  double count = 1.0;
  for (const StationTone& t : tones) {
    if (t.station != match.station) continue;
    any += normal_density(t.tone_to_noise_db - match.tone_to_noise_db, q.strength_sd_db);
    count += 1.0;
  }
  return normal_density(match.tone_to_noise_db - seed.tone_to_noise_db, q.strength_sd_db) * count /
         any;
}

struct Match {
  std::size_t tone;
  double z;
  double sigma;
};

std::optional<Match> nearest_match(const std::vector<StationTone>& tones, std::size_t station,
                                   Behaviour law, const StationTone& seed, double value,
                                   double seed_sigma, const Linking& q) {
  std::optional<Match> best;
  for (std::size_t i = 0; i < tones.size(); ++i) {
    const PitchPoint& p = tones[i].point;
    if (tones[i].station != station || !applies(law, p) || !alike(tones[i], seed)) continue;
    if (!can_stand(law, tones[i].passes)) continue;
    if (law == Behaviour::speed_locked && engine_against_other(tones[i].place, seed.place))
      continue;
    const double sigma = std::hypot(law_sigma(law, p, q), seed_sigma);
    const double z = (log_value(law, p, q) - value) / sigma;
    if (std::abs(z) <= kMatchSigmas && (!best || std::abs(z) < std::abs(best->z)))
      best = Match{i, z, sigma};
  }
  return best;
}

double span_of(const std::vector<StationTone>& tones, const std::vector<std::size_t>& chosen) {
  double low = 1e300;
  double high = 0.0;
  for (const std::size_t i : chosen) {
    low = std::min(low, tones[i].point.rpm);
    high = std::max(high, tones[i].point.rpm);
  }
  return high / low;
}

double road_span(const std::vector<StationTone>& tones, const std::vector<std::size_t>& chosen) {
  double low = 1e300;
  double high = 0.0;
  for (const std::size_t i : chosen) {
    low = std::min(low, tones[i].point.road_speed_kmh.value_or(0.0));
    high = std::max(high, tones[i].point.road_speed_kmh.value_or(0.0));
  }
  return low > 0.0 ? high / low : 1.0;
}

/// Chance that a hold shows a tone as strong as this one elsewhere: a strong one is hardly missed.
double chance_seen(const StationTone& tone, const Linking& q) {
  const double above = tone.tone_to_noise_db - q.faintest_db;
  return std::clamp(normal_cdf(above / q.strength_sd_db), q.least_seen, q.most_seen);
}

Hypothesis explain(const std::vector<StationTone>& tones, std::size_t stations, std::size_t seed,
                   Behaviour law, const Linking& q) {
  Hypothesis h{law, 0.0, {seed}, 1.0};
  const PitchPoint& start = tones[seed].point;
  if (!applies(law, start) || !can_stand(law, tones[seed].passes)) return {law, -1e300, {}, 1.0};
  const double value = log_value(law, start, q);
  const double seed_sigma = law_sigma(law, start, q);
  const double shown = chance_seen(tones[seed], q);
  for (std::size_t s = 0; s < stations; ++s) {
    if (s == tones[seed].station) continue;
    const auto match = nearest_match(tones, s, law, tones[seed], value, seed_sigma, q);
    if (!match) {
      h.log_odds += std::log(1.0 - shown);
      continue;
    }
    const StationTone& found = tones[match->tone];
    const double ratio = normal_density(match->z * match->sigma, match->sigma) /
                         local_density(tones, found) * strength_ratio(tones, found, tones[seed], q);
    h.log_odds += std::log(shown * ratio + 1.0 - shown);
    h.tones.push_back(match->tone);
  }
  h.speed_ratio =
      law == Behaviour::road_locked ? road_span(tones, h.tones) : span_of(tones, h.tones);
  return h;
}

std::size_t station_count(const std::vector<StationTone>& tones) {
  std::size_t count = 0;
  for (const StationTone& t : tones) count = std::max(count, t.station + 1);
  return count;
}

/// A pitch that stands whatever the speed is heard at most speeds; one that wanders passes any
/// pitch now and then.
bool in_enough_holds(const Hypothesis& h, std::size_t stations) {
  return h.tones.size() >= kFewestHolds &&
         (h.law != Behaviour::fixed_pitch || 2 * h.tones.size() > stations);
}

bool acceptable(const Hypothesis& h, std::size_t stations, const Linking& q) {
  return h.log_odds >= std::log(q.law.odds) && in_enough_holds(h, stations) &&
         h.speed_ratio >= q.law.least_speed_ratio;
}

constexpr std::array<Behaviour, 3> kHoldLaws{Behaviour::speed_locked, Behaviour::fixed_pitch,
                                             Behaviour::road_locked};

/// The law that explains most holds best, unless another explains a tone of it about as well.
std::optional<Hypothesis> best_hypothesis(const std::vector<StationTone>& tones, const Linking& q) {
  const std::size_t stations = station_count(tones);
  std::optional<Hypothesis> best;
  for (std::size_t seed = 0; seed < tones.size(); ++seed)
    for (const Behaviour law : kHoldLaws) {
      Hypothesis h = explain(tones, stations, seed, law, q);
      if (acceptable(h, stations, q) && (!best || h.log_odds > best->log_odds)) best = std::move(h);
    }
  return best;
}

/// Whether a law that the verdict does not stand for explains a tone about as well.
bool rivalled(const Hypothesis& h, const std::vector<Behaviour>& verdict,
              const std::vector<StationTone>& tones, const Linking& q) {
  const std::size_t stations = station_count(tones);
  for (const std::size_t seed : h.tones)
    for (const Behaviour law : kHoldLaws) {
      if (law == h.law || contains(verdict, law)) continue;
      const Hypothesis rival = explain(tones, stations, seed, law, q);
      if (rival.tones.size() >= kFewestHolds && rival.log_odds > h.log_odds - std::log(q.law.odds))
        return true;
    }
  return false;
}

ToneTrack track_of(const Hypothesis& h, const std::vector<StationTone>& tones,
                   const std::vector<Sighting>& pool, const Linking& q) {
  ToneTrack track;
  for (const std::size_t t : h.tones)
    for (const std::size_t m : tones[t].members) track.sightings.push_back(pool[m]);
  track.verdict = judge_pitch(track.points(), q.law);
  const std::vector<Behaviour> verdict = laws_along(track);
  if (!contains(verdict, h.law) || rivalled(h, verdict, tones, q)) {
    if (track.verdict.behaviour != Behaviour::undetermined)
      track.verdict.doubt = PitchDoubt::laws_too_close;
    track.verdict.behaviour = Behaviour::undetermined;
    track.verdict.drive = Drive::unknown;
  }
  return track;
}

void remove_members(std::vector<Sighting>& pool, const Hypothesis& h,
                    const std::vector<StationTone>& tones) {
  std::vector<bool> gone(pool.size(), false);
  for (const std::size_t t : h.tones)
    for (const std::size_t m : tones[t].members) gone[m] = true;
  std::vector<Sighting> rest;
  for (std::size_t i = 0; i < pool.size(); ++i)
    if (!gone[i]) rest.push_back(std::move(pool[i]));
  pool = std::move(rest);
}

std::vector<ToneTrack> link_holds(std::vector<Sighting>& pool, const Linking& q) {
  std::vector<ToneTrack> tracks;
  for (;;) {
    const std::vector<StationTone> tones = station_tones(pool, q);
    const auto h = best_hypothesis(tones, q);
    if (!h) break;
    tracks.push_back(track_of(*h, tones, pool, q));
    remove_members(pool, *h, tones);
  }
  return tracks;
}

/// How far in ln f a followed tone moves within a time, nine times out of ten at most.
double wander_within(const Sighting& followed, double seconds) {
  std::vector<double> moves;
  std::size_t later = 0;
  for (const PitchPoint& p : followed.points) {
    while (later < followed.points.size() && followed.points[later].time < p.time + seconds)
      ++later;
    if (later == followed.points.size()) break;
    moves.push_back(std::abs(std::log(followed.points[later].frequency_hz / p.frequency_hz)));
  }
  return moves.empty() ? std::log(followed.frequency_hz.high / followed.frequency_hz.low)
                       : quantile(moves, 0.9);
}

/// The range over which a wandering tone was followed, and half as much again on either side: it
/// goes farther while nobody follows it.
Interval wander_range(const Sighting& followed) {
  const double half = 0.5 * std::log(followed.frequency_hz.high / followed.frequency_hz.low);
  const double reach = std::exp(std::max(0.02, half));
  return {followed.frequency_hz.low / reach, followed.frequency_hz.high * reach};
}

/// Lines of holds where a tone of no law may wander belong to it, if they are about as strong: of
/// each take the strongest one, and the weaker ones so near to it that the tone itself gets there
/// within the take. They prove nothing and are not judged.
void gather_wanderers(std::vector<ToneTrack>& tracks, std::vector<Sighting>& pool) {
  for (ToneTrack& track : tracks) {
    if (track.verdict.behaviour != Behaviour::unlocked) continue;
    const Sighting followed = track.sightings.front();
    const Interval range = wander_range(followed);
    std::map<std::size_t, double> strongest;  // take -> frequency
    std::vector<Sighting> rest;
    for (Sighting& s : pool) {  // strongest of a take first
      const double f = s.points.front().frequency_hz;
      const bool as_strong = std::abs(s.tone_to_noise_db - followed.tone_to_noise_db) <= kAlikeDb;
      const auto main = strongest.find(s.take);
      const bool belongs =
          main == strongest.end()
              ? s.take != followed.take && range.contains(f) && as_strong
              : std::abs(std::log(f / main->second)) < wander_within(followed, s.seconds);
      if (belongs) strongest.try_emplace(s.take, f);
      (belongs ? track.sightings : rest).push_back(std::move(s));
    }
    pool = std::move(rest);
  }
}

bool share_take(const ToneTrack& a, const ToneTrack& b) {
  return std::any_of(a.sightings.begin(), a.sightings.end(), [&](const Sighting& x) {
    return std::any_of(b.sightings.begin(), b.sightings.end(),
                       [&](const Sighting& y) { return x.take == y.take; });
  });
}

double strongest_tone_to_noise(const ToneTrack& track) {
  double best = -1e9;
  for (const Sighting& s : track.sightings) best = std::max(best, s.tone_to_noise_db);
  return best;
}

/// Two locked tracks that may be one belt under two loads: orders within a belt's slip, as strong
/// as each other, and never heard in the same take.
bool may_be_one_belt(const ToneTrack& a, const ToneTrack& b, const Linking& q) {
  constexpr double most_slip = 0.03;
  return a.verdict.behaviour == Behaviour::speed_locked &&
         b.verdict.behaviour == Behaviour::speed_locked &&
         std::abs(std::log(*a.verdict.order / *b.verdict.order)) < most_slip &&
         std::abs(strongest_tone_to_noise(a) - strongest_tone_to_noise(b)) <= kAlikeDb &&
         !engine_against_other(place_of(a, q), place_of(b, q)) && !share_take(a, b);
}

/// Gathering by nearness parts a belt that slips with load into two constant orders. Joined and
/// judged again they show the drift; where that is not settled they stay apart, and neither is
/// called direct.
void join_split_belts(std::vector<ToneTrack>& tracks, const Linking& q) {
  for (std::size_t i = 0; i < tracks.size(); ++i)
    for (std::size_t j = i + 1; j < tracks.size(); ++j) {
      if (!may_be_one_belt(tracks[i], tracks[j], q)) continue;
      ToneTrack both = tracks[i];
      append(both.sightings, tracks[j].sightings);
      both.verdict = judge_pitch(both.points(), q.law);
      if (both.verdict.behaviour == Behaviour::speed_locked) {
        tracks[i] = std::move(both);
        tracks.erase(tracks.begin() + static_cast<std::ptrdiff_t>(j--));
      } else {
        tracks[i].verdict.drive = tracks[j].verdict.drive = Drive::unknown;
      }
    }
}

/// Ridges of takes whose road speed was not noted, which run along a tone of the others' one gear.
void join_unknown_motion(std::vector<ToneTrack>& tracks, const Linking& q) {
  for (std::size_t i = 0; i < tracks.size(); ++i)
    for (std::size_t j = 0; j < tracks.size() && tracks[i].verdict.drive == Drive::engine_or_road;
         ++j) {
      const bool open = j != i && lacks_road_speed(tracks[j]);
      if (!open || !runs_along(tracks[i], Behaviour::speed_locked, tracks[j], q)) continue;
      ToneTrack both = tracks[i];
      append(both.sightings, tracks[j].sightings);
      both.verdict = judge_pitch(both.points(), q.law);
      if (both.verdict.behaviour != Behaviour::speed_locked) continue;
      tracks[i] = std::move(both);
      tracks.erase(tracks.begin() + static_cast<std::ptrdiff_t>(j));
      if (j < i) --i;
      --j;
    }
}

/// Tones that nothing links: one track a station tone, undetermined.
std::vector<ToneTrack> lone_tracks(const std::vector<Sighting>& pool, const Linking& q) {
  std::vector<ToneTrack> tracks;
  for (const StationTone& tone : station_tones(pool, q)) {
    ToneTrack track;
    for (const std::size_t m : tone.members) track.sightings.push_back(pool[m]);
    track.verdict = judge_pitch(track.points(), q.law);
    tracks.push_back(std::move(track));
  }
  return tracks;
}

std::optional<double> half_order_of(const ToneTrack& track, const Linking& q) {
  std::optional<double> common;
  for (const Sighting& s : track.sightings) {
    if (place_of(s, q) != RulerPlace::on_half_order) return std::nullopt;
    std::vector<double> orders;
    for (const PitchPoint& p : s.points) orders.push_back(log_order(p) - q.log_scale(p.take));
    const double own = 0.5 * std::round(2.0 * std::exp(median(orders)));
    if (common && *common != own) return std::nullopt;
    common = own;
  }
  return common;
}

}  // namespace

std::vector<PitchPoint> ToneTrack::points() const {
  std::vector<PitchPoint> all;
  for (const Sighting& s : sightings) all.insert(all.end(), s.points.begin(), s.points.end());
  return all;
}

std::vector<ToneTrack> link_tracks(std::vector<Sighting> pool, const LinkParameters& parameters) {
  const Linking q(parameters, pool);
  std::vector<ToneTrack> tracks = join_ridges(judge_ridges(pool, q), q);
  for (ToneTrack& track : tracks) {
    if (q.one_gear && lacks_road_speed(track)) attract_in_one_gear(track, pool, q);
    if (!can_attract(track.verdict.behaviour)) continue;
    attract(track, law_to_attract_by(track, pool, q), pool, q);
    judge_again(track, q);
  }
  append(tracks, link_holds(pool, q));
  join_split_belts(tracks, q);
  join_unknown_motion(tracks, q);
  gather_wanderers(tracks, pool);
  append(tracks, lone_tracks(pool, q));
  for (ToneTrack& track : tracks) track.half_order = half_order_of(track, q);
  return tracks;
}

}  // namespace howl
