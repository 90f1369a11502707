#include "src/analysis/families.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>

#include "dsp/tone_families.h"
#include "src/analysis/family_lines.h"
#include "src/analysis/like_takes.h"

namespace howl {

namespace {

bool open_to_family(const ToneResult& tone) { return !tone.combustion && !tone.family; }

double power_of(double level_db) { return std::pow(10.0, level_db / 10.0); }

FamilyResult::Unit unit_of(Behaviour behaviour) {
  if (behaviour == Behaviour::speed_locked) return FamilyResult::Unit::order;
  if (behaviour == Behaviour::road_locked) return FamilyResult::Unit::cycles_per_metre;
  return FamilyResult::Unit::hertz;
}

/// Errors that all members share do not divide: no narrower than the best-known harmonic's own.
std::optional<Interval> base_interval(const LineFamily& family,
                                      const std::vector<ToneResult*>& tones) {
  double relative = 1e300;
  for (const FamilyMember& m : family.members) {
    const ToneResult& tone = *tones[m.line];
    if (tone.behaviour == Behaviour::unlocked) return std::nullopt;
    if (tone.order_ci95 && m.sideband == 0)
      relative = std::min(relative, 0.5 * tone.order_ci95->width() / *tone.order);
  }
  const double own = 0.5 * family.base.ci95.width();
  const double shared = relative < 1.0 ? relative * family.base.value : 0.0;
  const double reach = std::max(own, shared);
  return Interval{family.base.value - reach, family.base.value + reach};
}

FamilyResult described(const LineFamily& family, const std::vector<ToneResult*>& tones,
                       FamilyResult::Unit unit) {
  FamilyResult result;
  result.unit = unit;
  result.base = family.base.value;
  result.base_ci95 = base_interval(family, tones);
  if (family.spacing) {
    result.spacing = family.spacing->value;
    result.spacing_ci95 = family.spacing->ci95;
  }
  if (!family.modulations.empty()) {
    const Modulation& strongest = family.modulations.front();
    result.modulation_depth = strongest.depth;
    result.modulation_depth_ci95 = strongest.depth_ci95;
    result.sideband_asymmetry_db = strongest.asymmetry_db;
  }
  result.carrier_heard = !family.carrier_suppressed();
  result.false_alarm = family.false_alarm;
  double power = 0.0;
  // Found in a take in which a line may be weaker than elsewhere: where it is loudest counts.
  std::vector<FamilyMember> members =
      without_strangers(family.members, [&](std::size_t line) { return tones[line]->level_db; });
  std::sort(members.begin(), members.end(), [](const FamilyMember& a, const FamilyMember& b) {
    return std::pair(a.multiple, a.sideband) < std::pair(b.multiple, b.sideband);
  });
  for (const FamilyMember& m : members) {
    result.members.push_back({tones[m.line]->id, m.multiple, m.sideband});
    power += power_of(tones[m.line]->level_db);
  }
  result.level_db = 10.0 * std::log10(power);
  return result;
}

/// Tells each tone its part. A tone without a settled family yet only.
void tell_tones(const FamilyResult& family, std::vector<ToneResult>& tones) {
  std::map<int, std::string> carriers;
  for (const FamilyResult::Member& m : family.members)
    if (m.sideband == 0) carriers[m.harmonic] = m.tone;
  for (ToneResult& tone : tones)
    for (const FamilyResult::Member& m : family.members) {
      if (m.tone != tone.id) continue;
      tone.family = family.id;
      if (m.sideband != 0 && carriers.contains(m.harmonic))
        tone.sideband = SidebandPart{carriers[m.harmonic], m.sideband};
    }
}

/// A set of tones that may hold families, and the lines they are searched as.
struct SearchedTones {
  std::vector<ToneResult*> tones;
  std::vector<FamilyLine> lines;
  FamilyResult::Unit unit{};
  std::optional<std::string> take;
  std::optional<double> half_order{};  ///< in `unit`, where it is known: a grid that proves less
};

FamilyParameters parameters_for(const SearchedTones& group, double false_alarm) {
  FamilyParameters parameters;
  parameters.false_alarm = false_alarm;
  parameters.grid = group.half_order;
  if (group.unit == FamilyResult::Unit::order)
    parameters.spacings = {0.5, 1.0};  // turns of camshaft and crankshaft
  return parameters;
}

std::vector<LineFamily> families_in(const SearchedTones& group, double false_alarm) {
  return find_families(group.lines, parameters_for(group, false_alarm));
}

/// Tones of one behaviour, compared over all takes.
SearchedTones group_of(Behaviour behaviour, std::vector<ToneResult>& tones,
                       const std::vector<TakeAudio>& takes, const FamilySearch& search) {
  SearchedTones group;
  group.unit = unit_of(behaviour);
  if (group.unit == FamilyResult::Unit::order) group.half_order = 0.5;
  for (ToneResult& tone : tones) {
    if (!open_to_family(tone) || tone.behaviour != behaviour) continue;
    if (group.tones.size() == search.most_tones) break;
    if (auto line = line_of(tone, takes)) {
      group.tones.push_back(&tone);
      group.lines.push_back(std::move(*line));
    }
  }
  return group;
}

/// All tones of one hold, by their frequencies there.
SearchedTones group_in(const TakeAudio& take, const HalfOrderRuler* ruler,
                       std::vector<ToneResult>& tones, const FamilySearch& search) {
  SearchedTones group;
  group.unit = FamilyResult::Unit::hertz;
  group.take = take.id;
  if (ruler != nullptr) group.half_order = mean_rpm(take) / 120.0 * std::exp(ruler->log_scale);
  for (ToneResult& tone : tones) {
    if (tone.sideband || group.tones.size() == search.most_tones) continue;
    if (auto line = line_in(tone, take.id)) {
      group.tones.push_back(&tone);
      group.lines.push_back(std::move(*line));
    }
  }
  return group;
}

bool has_undetermined(const SearchedTones& group) {
  return std::any_of(group.tones.begin(), group.tones.end(), [](const ToneResult* tone) {
    return tone->behaviour == Behaviour::undetermined && !tone->family;
  });
}

/// Settled tones are compared over all takes already.
bool tells_of_undetermined(const LineFamily& family, const SearchedTones& group) {
  return std::any_of(family.members.begin(), family.members.end(), [&](const FamilyMember& m) {
    return group.tones[m.line]->behaviour == Behaviour::undetermined;
  });
}

bool all_without_family(const LineFamily& family, const SearchedTones& group) {
  return std::none_of(family.members.begin(), family.members.end(), [&](const FamilyMember& m) {
    return group.tones[m.line]->family.has_value();
  });
}

/// The settled harmonics of a family, if they all behave alike in a way that multiples share.
std::vector<FamilyMember> agreeing(const LineFamily& family, const SearchedTones& group) {
  std::vector<FamilyMember> settled;
  for (const FamilyMember& m : family.members) {
    const ToneResult& tone = *group.tones[m.line];
    if (tone.behaviour == Behaviour::undetermined || m.sideband != 0) continue;
    if (tone.behaviour == Behaviour::unlocked) return {};
    if (!settled.empty() && tone.behaviour != group.tones[settled.front().line]->behaviour)
      return {};
    settled.push_back(m);
  }
  return settled;
}

/// Whether a tone would be a firing order far stronger than the nearest one at or below it: a
/// stranger that happens to lie there in this hold.
bool above_firing(const ToneResult& tone, double order, const std::vector<ToneResult>& tones) {
  constexpr double scatter_db = 6.0;  // twice that of firing orders about their smooth fall
  const ToneResult* nearest = nullptr;
  for (const ToneResult& other : tones) {
    if (!other.combustion || !other.order || *other.order > 1.01 * order) continue;
    if (nearest == nullptr || *other.order > *nearest->order) nearest = &other;
  }
  return nearest != nullptr && tone.level_db > nearest->level_db + scatter_db;
}

/// What is known of one harmonic holds for the others.
void share_behaviour(const LineFamily& family, const SearchedTones& group,
                     const std::vector<ToneResult>& tones) {
  const std::vector<FamilyMember> settled = agreeing(family, group);
  if (settled.empty()) return;
  const ToneResult& known = *group.tones[settled.front().line];
  for (const FamilyMember& m : family.members) {
    ToneResult& tone = *group.tones[m.line];
    if (tone.behaviour != Behaviour::undetermined || m.sideband != 0) continue;
    const double ratio = static_cast<double>(m.multiple) / settled.front().multiple;
    if (known.combustion && (tone.prominent || above_firing(tone, ratio * *known.order, tones)))
      continue;
    tone.behaviour = known.behaviour;
    tone.drive = known.drive;
    if (known.order) tone.order = ratio * *known.order;
    if (known.order_ci95)
      tone.order_ci95 = Interval{ratio * known.order_ci95->low, ratio * known.order_ci95->high};
    tone.combustion = known.combustion;
    if (tone.combustion) tone.family = known.family;
    tone.pitch_exponent.reset();
    tone.pitch_exponent_ci95.reset();
    tone.advice.clear();
  }
}

class Collector {
 public:
  explicit Collector(std::vector<ToneResult>& tones) : tones_(tones) {}

  void add(const LineFamily& family, const SearchedTones& group) {
    FamilyResult result = described(family, group.tones, group.unit);
    result.take = group.take;
    result.id = fmt::format("found {}", families_.size());  // renamed at the end
    tell_tones(result, tones_);
    families_.push_back(std::move(result));
  }

  /// In the order of their first tones, named so.
  std::vector<FamilyResult> take() {
    const auto place = [&](const FamilyResult& family) {
      return std::find_if(tones_.begin(), tones_.end(),
                          [&](const ToneResult& t) { return t.family == family.id; });
    };
    std::stable_sort(
        families_.begin(), families_.end(),
        [&](const FamilyResult& a, const FamilyResult& b) { return place(a) < place(b); });
    std::map<std::string, std::string> names;
    for (FamilyResult& family : families_) {
      const std::string name = id_at(names.size());
      names[family.id] = name;
      family.id = name;
    }
    for (ToneResult& tone : tones_)
      if (tone.family && names.contains(*tone.family)) tone.family = names[*tone.family];
    return std::move(families_);
  }

 private:
  /// A … Z, then A2, B2 …
  static std::string id_at(std::size_t n) {
    std::string id(1, static_cast<char>('A' + n % 26));
    return n < 26 ? id : id + std::to_string(n / 26 + 1);
  }

  std::vector<ToneResult>& tones_;
  std::vector<FamilyResult> families_;
};

}  // namespace

const FamilyResult* family_of(const ToneResult& tone, const std::vector<FamilyResult>& families) {
  if (!tone.family) return nullptr;
  const auto family = std::ranges::find(families, *tone.family, &FamilyResult::id);
  return family == families.end() ? nullptr : &*family;
}

const FamilyResult::Member* member_of(const FamilyResult& family, const ToneResult& tone) {
  const auto member = std::ranges::find(family.members, tone.id, &FamilyResult::Member::tone);
  return member == family.members.end() ? nullptr : &*member;
}

std::vector<FamilyResult> collect_families(std::vector<ToneResult>& tones,
                                           const std::vector<TakeAudio>& takes,
                                           const FamilySearch& search,
                                           const HalfOrderRulers& rulers) {
  for (ToneResult& tone : tones)
    if (tone.combustion) tone.family = "firing";
  Collector collector(tones);
  const std::array<std::pair<Behaviour, double>, 4> kinds{{{Behaviour::speed_locked, 0.5},
                                                           {Behaviour::fixed_pitch, 0.125},
                                                           {Behaviour::road_locked, 0.125},
                                                           {Behaviour::unlocked, 0.125}}};
  for (const auto& [behaviour, share] : kinds) {
    const SearchedTones group = group_of(behaviour, tones, takes, search);
    for (const LineFamily& family : families_in(group, share * search.false_alarm))
      collector.add(family, group);
  }
  std::vector<SearchedTones> holds;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (!is_hold(takes[i])) continue;
    const auto ruler = rulers.find(i);
    SearchedTones group =
        group_in(takes[i], ruler == rulers.end() ? nullptr : &ruler->second, tones, search);
    if (has_undetermined(group)) holds.push_back(std::move(group));
  }
  const double each =
      0.125 * search.false_alarm / static_cast<double>(std::max<std::size_t>(1, holds.size()));
  for (const SearchedTones& group : holds)
    for (const LineFamily& family : families_in(group, each)) {
      if (!tells_of_undetermined(family, group)) continue;
      share_behaviour(family, group, tones);
      if (all_without_family(family, group)) collector.add(family, group);
    }
  return collector.take();
}

}  // namespace howl
