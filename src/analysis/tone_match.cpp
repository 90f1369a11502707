#include "src/analysis/tone_match.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "src/analysis/like_takes.h"

namespace howl {

namespace {

using Unit = AnalysisRequest::Band::Unit;

constexpr double kSamePitch = 0.006;  // ln f; as kSameTone
constexpr double kBeltSlip = 0.006;   // how far a belt's slip may move an order from day to day
constexpr double kLobeLines = 2.0;    // Hann, centre to null

/// Pitch in a take, where the tone was followed there.
std::optional<double> pitch_in(const ToneResult& tone, const std::string& take) {
  std::vector<double> pitches;
  for (const TrackPoint& p : tone.track)
    if (p.take == take) pitches.push_back(p.frequency_hz);
  if (pitches.empty()) return std::nullopt;
  return median(pitches);
}

double order_error(const ToneResult& tone) {
  if (!tone.order || !tone.order_ci95) return 0.0;
  return 0.5 * tone.order_ci95->width() / *tone.order;
}

double slip_of(const ToneResult& tone) { return tone.drive == Drive::direct ? 0.0 : kBeltSlip; }

double speed_error(const TakeAudio& a, const TakeAudio& b) {
  return 2.0 * std::hypot(a.speed.relative_error(), b.speed.relative_error());
}

bool may_be_locked(const ToneResult& tone) {
  return tone.behaviour == Behaviour::speed_locked || tone.behaviour == Behaviour::undetermined;
}
bool may_be_fixed(const ToneResult& tone) {
  return tone.behaviour == Behaviour::fixed_pitch || tone.behaviour == Behaviour::undetermined;
}

/// How far two tones are apart in units of what is allowed; more than 1: they are two.
using Distance = std::optional<double>;

Distance nearer(Distance a, Distance b) {
  if (!a || !b) return a ? a : b;
  return std::min(*a, *b);
}

Distance distance_in_takes(const ToneResult& x, const TakeAudio& in_x, const ToneResult& y,
                           const TakeAudio& in_y) {
  const auto fx = pitch_in(x, in_x.id);
  const auto fy = pitch_in(y, in_y.id);
  if (!fx || !fy || !is_hold(in_x)) return std::nullopt;
  const double apart = std::log(*fy / *fx);
  Distance distance;
  if (may_be_fixed(x) && may_be_fixed(y)) distance = std::abs(apart) / kSamePitch;
  if (may_be_locked(x) && may_be_locked(y)) {
    const double reach =
        kSamePitch + speed_error(in_x, in_y) + std::max(slip_of(x), slip_of(y)) * 0.5;
    distance =
        nearer(distance, std::abs(apart - std::log(mean_rpm(in_y) / mean_rpm(in_x))) / reach);
  }
  const double road_x = mean_road_speed(in_x);
  const double road_y = mean_road_speed(in_y);
  if ((x.behaviour == Behaviour::road_locked || y.behaviour == Behaviour::road_locked) &&
      road_x > 0.0 && road_y > 0.0)
    distance = nearer(distance, std::abs(apart - std::log(road_y / road_x)) / (2.0 * kSamePitch));
  return distance;
}

Distance distance_of_unlocked(const ToneResult& x, const ToneResult& y) {
  if (x.behaviour != Behaviour::unlocked && y.behaviour != Behaviour::unlocked) return std::nullopt;
  const bool overlap = x.frequency_hz.low <= y.frequency_hz.high * (1.0 + kSamePitch) &&
                       y.frequency_hz.low <= x.frequency_hz.high * (1.0 + kSamePitch);
  if (!overlap) return std::nullopt;
  return 0.99;  // nothing but the range to go by: any better match wins
}

class Matcher {
 public:
  Matcher(const std::vector<TakeAudio>& before, const std::vector<TakeAudio>& after,
          const TakePairs& pairs)
      : before_(before), after_(after), pairs_(pairs) {}

  Distance distance(const ToneResult& x, const ToneResult& y) const {
    if (x.order && y.order) {
      const double reach =
          kSamePitch + order_error(x) + order_error(y) + std::max(slip_of(x), slip_of(y)) * 0.5;
      return std::abs(std::log(*y.order / *x.order)) / reach;
    }
    Distance distance = distance_of_unlocked(x, y);
    for (std::size_t b = 0; b < before_.size(); ++b)
      for (std::size_t a = 0; a < after_.size(); ++a)
        if (pairs_.condition_before[b] == pairs_.condition_after[a])
          distance = nearer(distance, distance_in_takes(x, before_[b], y, after_[a]));
    return distance;
  }

 private:
  const std::vector<TakeAudio>& before_;
  const std::vector<TakeAudio>& after_;
  const TakePairs& pairs_;
};

/// Pitch that any of `tones` has in the take.
std::optional<double> pitch_of_any(const std::vector<const ToneResult*>& tones,
                                   const std::string& take) {
  for (const ToneResult* tone : tones)
    if (const auto pitch = pitch_in(*tone, take)) return pitch;
  return std::nullopt;
}

std::vector<const ToneResult*> own_tones(const MatchedTone& tone, bool is_before) {
  if (!is_before) return tone.after;
  return tone.before ? std::vector<const ToneResult*>{tone.before}
                     : std::vector<const ToneResult*>{};
}

/// A take of a row, the pitch that was found in it, and the side it is on.
struct Member {
  const TakeAudio* take;
  std::optional<double> pitch;
  bool before;
};

std::vector<Member> members_of(const MatchedTone& tone, const TakeRow& row,
                               const std::vector<TakeAudio>& before,
                               const std::vector<TakeAudio>& after) {
  std::vector<Member> members;
  for (const std::size_t i : row.before)
    members.push_back({&before[i], pitch_of_any(own_tones(tone, true), before[i].id), true});
  for (const std::size_t i : row.after)
    members.push_back({&after[i], pitch_of_any(own_tones(tone, false), after[i].id), false});
  return members;
}

/// Where the tone is expected in a take, with how far it may be off, as a fraction.
struct ExpectedPlace {
  Unit unit{};
  double centre{};
  double reach{};
};

/// How far a tone that follows the engine may be from its order, apart from errors of the speed.
double own_reach(const ToneResult& tone) { return kSamePitch + order_error(tone) + slip_of(tone); }

ExpectedPlace locked_place(const MatchedTone& tone, const Member& member, const Member& other) {
  const ToneResult& lead = tone.lead();
  const double reach = own_reach(lead) + speed_error(*member.take, *other.take);
  const double found =
      member.pitch && is_hold(*member.take) ? 60.0 * *member.pitch / mean_rpm(*member.take) : 0.0;
  // A pitch that is not near the order belongs to something else.
  const bool near = found > 0.0 && std::abs(std::log(found / *lead.order)) < reach;
  return {Unit::order, near ? found : *lead.order, reach};
}

std::optional<ExpectedPlace> pitched_place(const MatchedTone& tone, const Member& member,
                                           const Member& known) {
  const ToneResult& lead = tone.lead();
  const double from = *known.pitch;
  const bool hold = is_hold(*member.take);
  ExpectedPlace place{Unit::hertz, from, kSamePitch};
  if (lead.behaviour == Behaviour::road_locked) {
    const double here = mean_road_speed(*member.take);
    const double there = mean_road_speed(*known.take);
    if (!hold || !(here > 0.0 && there > 0.0)) return std::nullopt;
    place = {Unit::hertz, from * here / there, 2.0 * kSamePitch};
  } else if (lead.behaviour != Behaviour::fixed_pitch) {
    if (!hold) return std::nullopt;
    const double shift = std::log(mean_rpm(*member.take) / mean_rpm(*known.take));
    place = {Unit::hertz, from * std::exp(0.5 * shift),
             kSamePitch + 0.5 * std::abs(shift) + speed_error(*member.take, *known.take)};
  }
  if (member.pitch && hold) place.centre = *member.pitch;
  return place;
}

ExpectedPlace wandering_place(const MatchedTone& tone) {
  Interval range = tone.lead().frequency_hz;
  for (const ToneResult* t : tone.after)
    range = {std::min(range.low, t->frequency_hz.low), std::max(range.high, t->frequency_hz.high)};
  const double centre = std::sqrt(range.low * range.high);
  return {Unit::hertz, centre, std::log(range.high / centre) + 2.0 * kSamePitch};
}

std::optional<ExpectedPlace> place_in(const MatchedTone& tone, const Member& member,
                                      const std::vector<Member>& members) {
  const ToneResult& lead = tone.lead();
  const auto known = std::find_if(members.begin(), members.end(),
                                  [](const Member& m) { return m.pitch.has_value(); });
  const auto other = std::find_if(members.begin(), members.end(),
                                  [&](const Member& m) { return m.before != member.before; });
  if (known == members.end() || other == members.end()) return std::nullopt;
  if (lead.behaviour == Behaviour::speed_locked && lead.order)
    return locked_place(tone, member, *other);
  if (lead.behaviour == Behaviour::unlocked) return wandering_place(tone);
  return pitched_place(tone, member, *known);
}

double lobe_in(const TakeAudio& take, Unit unit) {
  return kLobeLines * (unit == Unit::order ? line_orders(take) : line_hz(take));
}

bool has_order(const MatchedTone& tone) {
  return tone.lead().behaviour == Behaviour::speed_locked && tone.lead().order;
}

/// The order of a tone in a take: as it was followed there, else the one that it has.
double order_in(const MatchedTone& tone, const Member& member) {
  for (const ToneResult* own : own_tones(tone, member.before)) {
    std::vector<double> orders;
    for (const TrackPoint& p : own->track)
      if (p.take == member.take->id && p.rpm > 0.0) orders.push_back(60.0 * p.frequency_hz / p.rpm);
    if (!orders.empty()) return median(orders);
  }
  return *tone.lead().order;
}

/// How far a window may reach from its centre, as factors of it.
struct Room {
  double low{0.0};
  double high{std::numeric_limits<double>::infinity()};
};

/// The neighbour's own lobe is left to it, but half the way is left to the tone.
void keep_clear(Room& room, double centre, double neighbour, double lobe) {
  const double half_way = std::sqrt(neighbour / centre);
  if (neighbour > centre)
    room.high = std::min(room.high, std::max((neighbour - lobe) / centre, half_way));
  else
    room.low = std::max(room.low, std::min((neighbour + lobe) / centre, half_way));
}

bool is_found(const MatchedTone& tone, const std::vector<Member>& members) {
  return std::any_of(members.begin(), members.end(), [&](const Member& m) {
    return pitch_of_any(own_tones(tone, m.before), m.take->id).has_value();
  });
}

/// Room between the other lines of a row that are further away than the tone may be displaced. An
/// error of the speed displaces them alike.
Room room_beside(const MatchedTone& tone, const std::vector<MatchedTone>& all,
                 const std::vector<Member>& members, const std::vector<ExpectedPlace>& places) {
  Room room;
  if (!has_order(tone)) return room;
  const double reach = own_reach(tone.lead());
  for (const MatchedTone& other : all) {
    if (&other == &tone || !has_order(other) || !is_found(other, members)) continue;
    if (std::abs(std::log(*other.lead().order / *tone.lead().order)) <= reach) continue;
    for (std::size_t i = 0; i < members.size(); ++i)
      keep_clear(room, places[i].centre, order_in(other, members[i]),
                 lobe_in(*members[i].take, Unit::order));
  }
  return room;
}

ToneWindow window_of(const ExpectedPlace& place, double reach, const Room& room,
                     const TakeAudio& take) {
  const double lobe = lobe_in(take, place.unit);
  const double low = std::max(place.centre * (1.0 - reach) - lobe, place.centre * room.low);
  const double high = std::min(place.centre * (1.0 + reach) + lobe, place.centre * room.high);
  return {{place.unit, {low, high}}, false};
}

}  // namespace

std::vector<MatchedTone> match_tones(const std::vector<ToneResult>& before,
                                     const std::vector<TakeAudio>& takes_before,
                                     const std::vector<ToneResult>& after,
                                     const std::vector<TakeAudio>& takes_after,
                                     const TakePairs& pairs) {
  const Matcher matcher(takes_before, takes_after, pairs);
  std::vector<MatchedTone> matched;
  for (const ToneResult& tone : before) matched.push_back({&tone, {}});
  for (const ToneResult& tone : after) {
    std::optional<std::size_t> best;
    double nearest = 1.0;
    for (std::size_t i = 0; i < before.size(); ++i) {
      const Distance d = matcher.distance(before[i], tone);
      if (!d || *d >= nearest) continue;
      nearest = *d;
      best = i;
    }
    if (best)
      matched[*best].after.push_back(&tone);
    else
      matched.push_back({nullptr, {&tone}});
  }
  return matched;
}

bool found_in(const MatchedTone& tone, const TakeRow& row,
              const std::vector<TakeAudio>& takes_before,
              const std::vector<TakeAudio>& takes_after) {
  const std::vector<Member> members = members_of(tone, row, takes_before, takes_after);
  return std::any_of(members.begin(), members.end(),
                     [](const Member& m) { return m.pitch.has_value(); });
}

std::optional<RowWindows> windows_in(const MatchedTone& tone, const std::vector<MatchedTone>& all,
                                     const TakeRow& row, const std::vector<TakeAudio>& takes_before,
                                     const std::vector<TakeAudio>& takes_after) {
  const std::vector<Member> members = members_of(tone, row, takes_before, takes_after);
  std::vector<ExpectedPlace> places;
  double reach = 0.0;
  for (const Member& member : members) {
    const auto place = place_in(tone, member, members);
    if (!place) return std::nullopt;
    reach = std::max(reach, place->reach);
    places.push_back(*place);
  }
  const Room room = room_beside(tone, all, members, places);
  RowWindows windows;
  for (std::size_t i = 0; i < members.size(); ++i)
    (members[i].before ? windows.before : windows.after)
        .push_back(window_of(places[i], reach, room, *members[i].take));
  return windows;
}

}  // namespace howl
