#include "src/analysis/tone_results.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>
#include <utility>

#include "dsp/statistics.h"
#include "src/analysis/combustion.h"
#include "src/analysis/families.h"
#include "src/analysis/like_takes.h"
#include "src/analysis/pitch_ratio.h"
#include "src/analysis/speed_check.h"
#include "src/analysis/suspect_band.h"
#include "src/analysis/tone_doubts.h"

namespace howl {

namespace {

constexpr std::size_t kMostTones = 200;
constexpr std::size_t kMostTrackPoints = 400;
constexpr double kHalfOrderSigma = 5e-4;  // to which a take's own lines measure its speed

const Sighting& strongest(const ToneTrack& track) {
  return *std::max_element(
      track.sightings.begin(), track.sightings.end(), [](const Sighting& a, const Sighting& b) {
        return a.tone_to_noise_db - a.limit_db < b.tone_to_noise_db - b.limit_db;
      });
}

std::vector<std::string> take_ids(const ToneTrack& track, const std::vector<TakeAudio>& takes) {
  std::vector<std::string> ids;
  for (const Sighting& s : track.sightings)
    if (std::find(ids.begin(), ids.end(), takes[s.take].id) == ids.end())
      ids.push_back(takes[s.take].id);
  std::sort(ids.begin(), ids.end());
  return ids;
}

std::vector<TrackPoint> track_points(const ToneTrack& track, const std::vector<TakeAudio>& takes) {
  std::size_t count = 0;
  for (const Sighting& s : track.sightings) count += s.points.size();
  const std::size_t step = count / kMostTrackPoints + 1;
  std::vector<TrackPoint> out;
  std::size_t place = 0;
  for (const Sighting& s : track.sightings)
    for (std::size_t i = 0; i < s.points.size(); ++i) {
      const PitchPoint& p = s.points[i];
      if (place++ % step == 0)
        out.push_back(
            {p.time, p.rpm, p.frequency_hz, p.sigma_hz, takes[p.take].id, s.levels_db[i]});
    }
  return out;
}

/// Median over speeds of the mean level at each, so that a resonance crossed on the way, or many
/// takes at one speed, do not stand for the whole.
double typical_level(const ToneTrack& track) {
  constexpr double log_rpm_step = 0.04;
  std::map<long, std::vector<double>> levels;
  for (const Sighting& s : track.sightings)
    for (std::size_t i = 0; i < s.points.size(); ++i)
      levels[std::lround(std::log(s.points[i].rpm) / log_rpm_step)].push_back(s.levels_db[i]);
  std::vector<double> each;
  for (const auto& [place, own] : levels) each.push_back(mean(own));
  return median(each);
}

std::vector<FittedLaw> fitted_laws(const PitchVerdict& verdict) {
  std::vector<FittedLaw> laws;
  for (const LawFit& l : verdict.laws)
    laws.push_back({std::string(law_name(l.law)), l.weight, l.reference_rpm, l.frequency_hz,
                    l.exponent, l.frequency_ci95, l.exponent_ci95});
  return laws;
}

std::string advice_for(const PitchVerdict& verdict, const Interval& rpm) {
  switch (verdict.doubt) {
    case PitchDoubt::none:
      return {};
    case PitchDoubt::too_little_change:
      if (rpm.high > 1.15 * rpm.low)
        return "the road speed hardly changed while the engine's did, or the other way round: "
               "record at "
               "another road speed too, and in another gear";
      return fmt::format(
          "heard at about {:.0f} rpm only: one steady speed cannot tell lock from coincidence. "
          "Record holds at "
          "two more speeds at least 15 % apart, or one slow sweep (20 s)",
          0.5 * (rpm.low + rpm.high));
    case PitchDoubt::too_few_points:
      return fmt::format(
          "followed at {} speeds only: record at least three, or one slow sweep (20 s)",
          verdict.stations);
    case PitchDoubt::road_and_engine_together:
      return "engine and road speed changed in step, or road speed was not noted: record the same "
             "road speed in another gear, or coast in neutral with the engine idling, and note the "
             "road speed";
    case PitchDoubt::laws_too_close:
      break;
  }
  return "two laws explain the pitch about equally well: record one slow sweep (20 s, idle to 3000 "
         "rpm) with "
         "the speed logged, at the point where the tone is loudest";
}

/// Whether a fixed pitch is a low multiple of 50 or 60 Hz.
bool at_mains_frequency(const ToneResult& tone) {
  if (tone.behaviour != Behaviour::fixed_pitch) return false;
  const double f = 0.5 * (tone.frequency_hz.low + tone.frequency_hz.high);
  for (const double mains : {50.0, 60.0}) {
    const double k = std::round(f / mains);
    if (k >= 1.0 && k <= 6.0 && std::abs(f - k * mains) < 0.3 + 0.5 * tone.frequency_hz.width() &&
        tone.frequency_hz.width() < 0.02 * f)
      return true;
  }
  return false;
}

/// Speeds that are wrong make a firing order stand still: whether the sound contradicts them in any
/// take of the tone.
bool speed_contradicted(const ToneTrack& track, const std::vector<TakeAudio>& takes) {
  return std::any_of(track.sightings.begin(), track.sightings.end(),
                     [&](const Sighting& s) { return contradicts_speed(takes[s.take]); });
}

std::string remark_on(const ToneResult& tone, bool speeds_hold) {
  constexpr double doubtful_hz = 5000.0;  // common practice for any probe that is not screwed on
  if (speeds_hold && at_mains_frequency(tone))
    return "at a multiple of the mains frequency: hum, not the vehicle";
  if (tone.frequency_hz.low > doubtful_hz && tone.behaviour != Behaviour::speed_locked)
    return "above 5 kHz, where a hand-held probe has resonances of its own";
  return {};
}

std::optional<LogEstimate> order_if_locked(const PitchVerdict& verdict) {
  if (!verdict.order || !verdict.order_ci95 || !(*verdict.order > 0.0)) return std::nullopt;
  constexpr double ci95_over_sigma = 2.0 * kNormal95;
  return LogEstimate{*verdict.order, std::log(verdict.order_ci95->high / verdict.order_ci95->low) /
                                         ci95_over_sigma};
}

/// Of the points with a road speed; they must agree, or the tone does not follow the road.
std::optional<LogEstimate> cycles_per_metre_if_locked(const ToneTrack& track) {
  constexpr double road_speed_error = 0.01;  // of one take; common practice
  constexpr double kmh_per_metre_a_second = 3.6;
  std::vector<double> logs;
  for (const Sighting& s : track.sightings)
    for (const PitchPoint& p : s.points)
      if (p.road_speed_kmh.value_or(0.0) > 0.0)
        logs.push_back(std::log(p.frequency_hz * kmh_per_metre_a_second / *p.road_speed_kmh));
  if (logs.empty()) return std::nullopt;
  return LogEstimate{std::exp(median(logs)),
                     std::hypot(road_speed_error, standard_deviation(logs))};
}

bool heard_standing(const ToneTrack& track, const std::vector<TakeAudio>& takes) {
  return std::any_of(track.sightings.begin(), track.sightings.end(), [&](const Sighting& s) {
    return !takes[s.take].motion_unknown && mean_road_speed(takes[s.take]) == 0.0;
  });
}

bool follows_engine_in(const ToneTrack& track, std::size_t take) {
  return track.verdict.behaviour == Behaviour::speed_locked &&
         std::any_of(track.sightings.begin(), track.sightings.end(),
                     [&](const Sighting& s) { return s.followed && s.take == take; });
}

/// A log that is seconds off makes what is locked to the engine seem to go its own way: nothing in
/// the take follows it then.
bool may_be_a_late_log(const ToneTrack& track, const std::vector<ToneTrack>& all,
                       const std::vector<TakeAudio>& takes) {
  if (track.verdict.behaviour != Behaviour::unlocked) return false;
  return std::any_of(track.sightings.begin(), track.sightings.end(), [&](const Sighting& s) {
    return s.followed && takes[s.take].lag_unclear &&
           std::none_of(all.begin(), all.end(),
                        [&](const ToneTrack& other) { return follows_engine_in(other, s.take); });
  });
}

constexpr const char* kLateLogAdvice =
    "the log of the engine's speed may run before or behind the sound: record a sweep that begins "
    "and ends with a steady speed of five seconds";

/// Order at which a take would show a tone that follows the road; none without both speeds.
std::optional<double> order_by_road(double cycles_per_metre, const TakeAudio& take) {
  const double middle = 0.5 * take.seconds;
  const auto kmh = road_speed_at(take, middle);
  const double rpm = take.speed.at(Seconds(middle)).value;
  if (!kmh || !(*kmh > 0.0) || !(rpm > 0.0)) return std::nullopt;
  return cycles_per_metre * (*kmh / 3.6) / (rpm / 60.0);
}

bool is_beside_firing(double order, int cylinders) {
  constexpr double beside = 0.03;
  const double step = 0.5 * cylinders;
  const double nearest = step * std::max(1.0, std::round(order / step));
  return std::abs(order / nearest - 1.0) < beside;
}

/// Takes in another gear, at points that show the tone, that do not show it because firing would
/// cover it there if it followed the road.
std::vector<std::string> takes_that_hide(const ToneTrack& track,
                                         const std::vector<TakeAudio>& takes,
                                         std::optional<int> cylinders) {
  constexpr double other_gear = 1.1;
  const auto metre = cycles_per_metre_if_locked(track);
  if (!metre || !cylinders) return {};
  const auto shown_in = [&](const TakeAudio& take) {
    return std::any_of(track.sightings.begin(), track.sightings.end(),
                       [&](const Sighting& s) { return &takes[s.take] == &take; });
  };
  const TakeAudio& shown = takes[track.sightings.front().take];
  const auto order = order_by_road(metre->value, shown);
  std::vector<std::string> hidden;
  for (const TakeAudio& take : takes) {
    const auto there = order_by_road(metre->value, take);
    if (!order || !there || shown_in(take) || take.point != shown.point) continue;
    const double change = std::max(*there / *order, *order / *there);
    if (change > other_gear && is_beside_firing(*there, *cylinders)) hidden.push_back(take.id);
  }
  return hidden;
}

std::string advice_in_one_gear(const std::vector<std::string>& hidden) {
  return fmt::format(
      "in another gear ({}) the engine's firing would cover it if it followed the road, so that "
      "those "
      "takes cannot settle it: record the same road speed in a third gear, or coast in neutral "
      "with "
      "the engine idling, and note the road speed",
      fmt::join(hidden, ", "));
}

ToneResult result_of(const ToneTrack& track, const std::vector<ToneTrack>& all,
                     const std::vector<TakeAudio>& takes, std::optional<int> cylinders) {
  const PitchVerdict& verdict = track.verdict;
  const bool late_log = may_be_a_late_log(track, all, takes);
  const Behaviour behaviour = late_log ? Behaviour::undetermined : verdict.behaviour;
  ToneResult tone;
  if (verdict.behaviour == Behaviour::speed_locked) {
    tone.order = verdict.order;
    tone.order_ci95 = verdict.order_ci95;
  }
  tone.order_if_locked = order_if_locked(verdict);
  if (behaviour == Behaviour::undetermined && track.half_order)
    tone.order_if_locked = LogEstimate{*track.half_order, kHalfOrderSigma};
  tone.cycles_per_metre_if_locked = cycles_per_metre_if_locked(track);
  tone.heard_standing = heard_standing(track, takes);
  tone.frequency_hz = track.sightings.front().frequency_hz;
  tone.rpm_span = track.sightings.front().rpm;
  tone.level_db = track.sightings.front().level_db;
  for (const Sighting& s : track.sightings) {
    tone.frequency_hz = {std::min(tone.frequency_hz.low, s.frequency_hz.low),
                         std::max(tone.frequency_hz.high, s.frequency_hz.high)};
    tone.rpm_span = {std::min(tone.rpm_span.low, s.rpm.low),
                     std::max(tone.rpm_span.high, s.rpm.high)};
    tone.level_db = std::max(tone.level_db, s.level_db);
    tone.prominent = tone.prominent || s.prominent;
  }
  tone.typical_level_db = typical_level(track);
  tone.tone_to_noise_db = strongest(track).tone_to_noise_db;
  tone.behaviour = behaviour;
  tone.drive = verdict.drive;
  tone.pitch_exponent = verdict.exponent;
  tone.pitch_exponent_ci95 = verdict.exponent_ci95;
  tone.takes = take_ids(track, takes);
  tone.track = track_points(track, takes);
  // Weights from speeds that hardly differ only repeat the prior.
  if (verdict.doubt != PitchDoubt::too_little_change && !late_log) tone.laws = fitted_laws(verdict);
  const bool open =
      tone.behaviour == Behaviour::undetermined || tone.drive == Drive::engine_or_road;
  const bool advised = open && track.remark.empty();
  if (advised) tone.advice = late_log ? kLateLogAdvice : advice_for(verdict, tone.rpm_span);
  if (advised && !late_log && verdict.doubt == PitchDoubt::road_and_engine_together) {
    const std::vector<std::string> hidden = takes_that_hide(track, takes, cylinders);
    if (!hidden.empty()) tone.advice = advice_in_one_gear(hidden);
  }
  tone.remark =
      track.remark.empty() ? remark_on(tone, !speed_contradicted(track, takes)) : track.remark;
  return tone;
}

/// Whether a tone is worth a line: settled, prominent, or at least as strong as its noise.
bool worth_showing(const ToneResult& tone) {
  return tone.prominent || tone.tone_to_noise_db > 0.0 ||
         (tone.behaviour != Behaviour::undetermined && tone.tone_to_noise_db > -6.0);
}

double excess(const ToneTrack& track) {
  return strongest(track).tone_to_noise_db - strongest(track).limit_db;
}

/// Of the howls, those that may be the engine's firing come last.
void howls_first(std::vector<ToneResult>& tones) {
  const auto place = [](const ToneResult& t) {
    const bool dismissed = !t.remark.empty() || t.clipping_product_of;
    return std::tuple(t.combustion, dismissed, t.maybe_combustion,
                      t.combustion ? -t.tone_to_noise_db : 0.0);
  };
  std::stable_sort(tones.begin(), tones.end(),
                   [&](const ToneResult& a, const ToneResult& b) { return place(a) < place(b); });
}

/// A sideband that stands out more than its carrier does follows it all the same.
void carriers_first(std::vector<ToneResult>& tones) {
  const auto find = [&](const std::string& id) {
    return std::find_if(tones.begin(), tones.end(),
                        [&](const ToneResult& t) { return t.id == id; });
  };
  std::vector<std::string> ids;
  for (const ToneResult& t : tones) ids.push_back(t.id);
  for (const std::string& id : ids) {
    const auto tone = find(id);
    if (!tone->sideband) continue;
    const auto carrier = find(tone->sideband->carrier);
    if (tone < carrier) std::rotate(tone, tone + 1, carrier + 1);
  }
}

/// Where nothing howls prominently, a multiple tells less than the stronger tone that it may be a
/// multiple of, even where it stands out more from the noise around it.
void base_before_its_multiple(std::vector<ToneResult>& tones) {
  const auto open = [](const ToneResult& t) { return can_be_the_howl(t) && !t.maybe_combustion; };
  const auto first = std::find_if(tones.begin(), tones.end(), can_be_the_howl);
  if (first == tones.end() || first->prominent || !open(*first)) return;
  auto base = tones.end();
  for (auto t = first + 1; t != tones.end(); ++t)
    if (open(*t) && t->level_db > first->level_db && multiple_of(*first, *t) &&
        (base == tones.end() || t->level_db > base->level_db))
      base = t;
  if (base != tones.end()) std::rotate(first, base, base + 1);
}

/// Names by place in the list, which families and sidebands refer to.
void rename_by_place(ToneFindings& findings) {
  std::map<std::string, std::string> names;
  for (std::size_t i = 0; i < findings.tones.size(); ++i)
    names[findings.tones[i].id] = fmt::format("tone{}", i + 1);
  for (ToneResult& tone : findings.tones) {
    tone.id = names[tone.id];
    if (tone.sideband) tone.sideband->carrier = names[tone.sideband->carrier];
    if (tone.clipping_product_of) tone.clipping_product_of = names[*tone.clipping_product_of];
  }
  for (FamilyResult& family : findings.families)
    for (FamilyResult::Member& m : family.members) m.tone = names[m.tone];
}

void remark_on_clipping(std::vector<ToneResult>& tones) {
  for (ToneResult& tone : tones)
    if (tone.clipping_product_of && tone.remark.empty())
      tone.remark = fmt::format(
          "a multiple of {}, heard in clipped takes only: clipping may have made it; record with "
          "less gain",
          *tone.clipping_product_of);
}

HalfOrderRulers rulers_of(const std::vector<ToneTrack>& tracks) {
  std::vector<Sighting> sightings;
  for (const ToneTrack& track : tracks)
    sightings.insert(sightings.end(), track.sightings.begin(), track.sightings.end());
  return half_order_rulers(sightings);
}

}  // namespace

ToneFindings tone_results(const std::vector<ToneTrack>& tracks, const std::vector<TakeAudio>& takes,
                          std::optional<int> cylinders) {
  std::vector<const ToneTrack*> sorted;
  for (const ToneTrack& track : tracks) sorted.push_back(&track);
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const ToneTrack* a, const ToneTrack* b) { return excess(*a) > excess(*b); });
  ToneFindings findings;
  std::vector<ToneResult>& tones = findings.tones;
  for (const ToneTrack* track : sorted) {
    ToneResult tone = result_of(*track, tracks, takes, cylinders);
    if (worth_showing(tone)) tones.push_back(std::move(tone));
  }
  mark_combustion(tones, cylinders);
  howls_first(tones);
  if (tones.size() > kMostTones) {
    findings.left_out = tones.size() - kMostTones;
    tones.resize(kMostTones);
  }
  for (std::size_t i = 0; i < tones.size(); ++i) tones[i].id = fmt::format("tone{}", i + 1);
  findings.families = collect_families(tones, takes, {}, rulers_of(tracks));
  doubt_tones(tones, takes);
  howls_first(tones);
  base_before_its_multiple(tones);
  carriers_first(tones);
  rename_by_place(findings);
  remark_on_clipping(tones);
  return findings;
}

}  // namespace howl
