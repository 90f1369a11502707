#include "src/analysis/comparison.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>
#include <variant>

#include "dsp/level_change.h"
#include "src/analysis/change_verdict.h"
#include "src/analysis/compared_places.h"
#include "src/analysis/new_howls.h"
#include "src/analysis/tone_match.h"
#include "src/analysis/tone_meter.h"
#include "src/errors.h"
#include "src/files/sha256.h"

namespace howl {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostAdvice = 6;

/// Windows to read in the takes of one case, and where each tone's own are among them.
struct ReadingPlan {
  std::vector<std::vector<ToneWindow>> windows;  // of each take

  std::size_t add(std::size_t take, const ToneWindow& window) {
    windows[take].push_back(window);
    return windows[take].size() - 1;
  }
};

/// A tone (or the band) in one row: places of its windows in the plans.
struct Slot {
  std::size_t row{};
  std::vector<std::size_t> before;  // of each of row.before
  std::vector<std::size_t> after;
};

struct Plan {
  ReadingPlan before;
  ReadingPlan after;
  std::vector<std::vector<Slot>> tones;  // of each matched tone
  std::vector<bool> heard_in_pair;       // whether it was found in any row at all
  std::vector<Slot> band;
};

Slot planned(Plan& plan, std::size_t r, const TakeRow& row, const RowWindows& windows) {
  Slot slot{r, {}, {}};
  for (std::size_t i = 0; i < row.before.size(); ++i)
    slot.before.push_back(plan.before.add(row.before[i], windows.before[i]));
  for (std::size_t i = 0; i < row.after.size(); ++i)
    slot.after.push_back(plan.after.add(row.after[i], windows.after[i]));
  return slot;
}

Plan make_plan(const std::vector<MatchedTone>& tones, const TakePairs& pairs,
               const std::optional<SuspectBand>& band, const AnalysedCase& before,
               const AnalysedCase& after) {
  Plan plan;
  plan.before.windows.resize(before.takes.size());
  plan.after.windows.resize(after.takes.size());
  plan.tones.resize(tones.size());
  plan.heard_in_pair.resize(tones.size());
  for (std::size_t r = 0; r < pairs.rows.size(); ++r) {
    const TakeRow& row = pairs.rows[r];
    for (std::size_t t = 0; t < tones.size(); ++t) {
      if (!found_in(tones[t], row, before.takes, after.takes)) continue;
      plan.heard_in_pair[t] = true;
      if (const auto windows = windows_in(tones[t], tones, row, before.takes, after.takes))
        plan.tones[t].push_back(planned(plan, r, row, *windows));
    }
    if (band) {
      const ToneWindow window{band->band, true};
      plan.band.push_back(
          planned(plan, r, row,
                  {std::vector(row.before.size(), window), std::vector(row.after.size(), window)}));
    }
  }
  return plan;
}

std::vector<TakeReading> read_all(const AnalysedCase& of, const ReadingPlan& plan,
                                  const std::vector<bool>& paired) {
  std::vector<TakeReading> readings(of.takes.size());
  for (std::size_t i = 0; i < of.takes.size(); ++i)
    if (paired[i]) readings[i] = read_take(of.takes[i], plan.windows[i]);
  return readings;
}

/// What a comparison is worked out from.
struct Evidence {
  const AnalysedCase& before;
  const AnalysedCase& after;
  const TakePairs& pairs;
  std::vector<TakeReading> readings_before;
  std::vector<TakeReading> readings_after;
  std::vector<PlaceEvidence> places;
  std::size_t block_run{2};
};

std::vector<const WindowReading*> side_readings(const std::vector<std::size_t>& kept,
                                                const std::vector<std::size_t>& takes,
                                                const std::vector<std::size_t>& windows,
                                                const std::vector<TakeReading>& readings) {
  std::vector<const WindowReading*> out;
  for (const std::size_t i : kept)
    if (const auto& window = readings[takes[i]].windows[windows[i]]) out.push_back(&*window);
  return out;
}

struct SlotReadings {
  std::vector<const WindowReading*> before;
  std::vector<const WindowReading*> after;
};

SlotReadings readings_of(const Evidence& e, const Slot& slot) {
  const PlaceEvidence& place = e.places[slot.row];
  const TakeRow& row = e.pairs.rows[slot.row];
  return {side_readings(place.before, row.before, slot.before, e.readings_before),
          side_readings(place.after, row.after, slot.after, e.readings_after)};
}

std::vector<WindowBlocks> blocks_of(const std::vector<const WindowReading*>& readings) {
  std::vector<WindowBlocks> blocks;
  for (const WindowReading* r : readings) blocks.push_back(r->blocks);
  return blocks;
}

/// None where a side has nothing that can be measured.
std::optional<ChangeCell> cell_of(const Evidence& e, const Slot& slot) {
  const SlotReadings readings = readings_of(e, slot);
  if (readings.before.empty() || readings.after.empty()) return std::nullopt;
  const PlaceEvidence& place = e.places[slot.row];
  return ChangeCell{blocks_of(readings.before), blocks_of(readings.after),
                    place.place.rest_change_db.value_or(0.0), place.rest_scatter_db};
}

LevelChange change_over(const Evidence& e, const std::vector<ChangeCell>& cells) {
  ChangeParameters parameters;
  parameters.block_run = e.block_run;
  return level_change(cells, parameters);
}

struct Prominent {
  std::optional<double> ratio_db;
  double limit_db{};
  bool prominent{};
};

/// The take in which it stands out most.
Prominent most_prominent(const std::vector<const WindowReading*>& readings) {
  Prominent best;
  for (const WindowReading* r : readings) {
    best.prominent = best.prominent || r->prominent;
    if (best.limit_db == 0.0) best.limit_db = r->limit_db;
    if (!r->tone_to_noise_db) continue;
    if (best.ratio_db && *best.ratio_db >= *r->tone_to_noise_db) continue;
    best.ratio_db = r->tone_to_noise_db;
    best.limit_db = r->limit_db;
  }
  return best;
}

ToneAtPlace tone_at(const Evidence& e, const Slot& slot, const LevelChange& change) {
  const SlotReadings readings = readings_of(e, slot);
  const Prominent before = most_prominent(readings.before);
  const Prominent after = most_prominent(readings.after);
  ToneAtPlace at;
  at.place = slot.row;
  at.measured = measured_change(change);
  at.tone_to_noise_before_db = before.ratio_db;
  at.tone_to_noise_after_db = after.ratio_db;
  at.limit_db = before.ratio_db ? before.limit_db : after.limit_db;
  at.prominent_before = before.prominent;
  at.prominent_after = after.prominent;
  return at;
}

ComparedTone described(const MatchedTone& matched) {
  const ToneResult& lead = matched.lead();
  ComparedTone tone;
  if (matched.before) tone.id_before = matched.before->id;
  if (!matched.after.empty()) tone.id_after = matched.tone_after()->id;
  tone.order = lead.order;
  tone.frequency_hz = lead.frequency_hz;
  tone.behaviour = lead.behaviour;
  tone.combustion = lead.combustion;
  tone.remark = lead.remark;
  tone.found_before = matched.found_before();
  tone.found_after = matched.found_after();
  if (matched.before && !matched.found_before() && matched.found_after())
    tone.firing_order_before = matched.before->order;
  return tone;
}

std::string place_words(const ComparedPlace& place) { return place.point + ", " + place.condition; }

std::string distrust_words(const Evidence& e, const std::vector<Slot>& slots) {
  for (const Slot& slot : slots) {
    const ComparedPlace& place = e.places[slot.row].place;
    if (!place.trusted && !place.doubts.empty())
      return fmt::format("{}: {}", place_words(place), place.doubts.front());
  }
  return "what was recorded in both cases does not reach its pitch";
}

std::string why_undetermined(const MeasuredChange& m, const ToneFacts& facts) {
  if (!m.before_db && !m.after_db) return "too faint on both sides to compare";
  if (facts.found_after && !m.change_db) return "heard after, but too faint before to compare";
  const auto& high = m.ci95_db.high_db;
  const auto& low = m.ci95_db.low_db;
  if (high && low)
    return fmt::format("the change lies between {:+.0f} and {:+.0f} dB, which settles nothing",
                       *low, *high);
  if (high && *high < 0.0)
    return fmt::format("at least {:.0f} dB quieter, which does not yet prove it", -*high);
  return "too faint to tell from the noise in one of the cases";
}

/// Slots with their cells; cells of places that are not trusted are measured too, for the list.
struct Measured {
  struct Trusted {
    double rest_degrees;
    bool steady;
    ChangeCell cell;
    LevelChange change;
  };
  std::vector<Trusted> trusted;
  std::vector<ToneAtPlace> at;

  /// Those where the probe kept contact.
  Measured steady() const {
    Measured held;
    for (const Trusted& t : trusted)
      if (t.steady) held.trusted.push_back(t);
    return held;
  }

  double rest_degrees() const {
    return std::min_element(
               trusted.begin(), trusted.end(),
               [](const Trusted& a, const Trusted& b) { return a.rest_degrees < b.rest_degrees; })
        ->rest_degrees;
  }
  std::vector<ChangeCell> cells() const {
    std::vector<ChangeCell> all;
    for (const Trusted& t : trusted) all.push_back(t.cell);
    return all;
  }
};

Measured measure(const Evidence& e, const std::vector<Slot>& slots) {
  Measured m;
  for (const Slot& slot : slots) {
    auto cell = cell_of(e, slot);
    if (!cell) continue;
    const LevelChange change = change_over(e, {*cell});
    m.at.push_back(tone_at(e, slot, change));
    const PlaceEvidence& place = e.places[slot.row];
    if (place.place.trusted)
      m.trusted.push_back({place.rest_degrees, place.place.steady, std::move(*cell), change});
  }
  return m;
}

/// The strongest that the tone was before at a place, from those takes alone; dB.
std::optional<double> level_before(const Evidence& e, const Slot& slot) {
  const SlotReadings readings = readings_of(e, slot);
  if (readings.before.empty()) return std::nullopt;
  const std::vector<WindowBlocks> blocks = blocks_of(readings.before);
  return change_over(e, {ChangeCell{blocks, blocks, 0.0, 0.0}}).before.level_db;
}

/// A place that shows nothing for want of a better take after, though the tone was louder there
/// before than at any that shows something, by more than the hand explains.
std::optional<std::size_t> loudest_unsettled(const Evidence& e, const std::vector<Slot>& slots) {
  constexpr double no_difference_db = 3.0;
  std::optional<std::size_t> place;
  double there = 0.0;
  double elsewhere = -300.0;
  for (const Slot& slot : slots) {
    const ComparedPlace& at = e.places[slot.row].place;
    const bool shows = at.trusted && at.steady;
    if (!shows && at.record_again.empty()) continue;
    const auto level = level_before(e, slot);
    if (!level) continue;
    if (shows) {
      elsewhere = std::max(elsewhere, *level);
    } else if (!place || *level > there) {
      place = slot.row;
      there = *level;
    }
  }
  return place && there > elsewhere + no_difference_db ? place : std::nullopt;
}

/// Keeps a tone from being called gone or new where the takes that show it do not prove it.
void require_proof(const Evidence& e, const std::vector<Slot>& slots, const Measured& m,
                   const ToneFacts& facts, ComparedTone& tone) {
  const bool gone = tone.change == ToneChange::gone;
  if (!gone && tone.change != ToneChange::appeared) return;
  const auto unsettle = [&](std::size_t place, std::string_view how) {
    const ComparedPlace& at = e.places[place].place;
    tone.unsettled_at = place;
    tone.why = fmt::format("{} {} ({})", how, place_words(at),
                           at.doubts.empty() ? "where nothing is proven" : at.doubts.front());
    tone.change = ToneChange::undetermined;
  };
  const Measured held = m.steady();
  if (held.trusted.size() < m.trusted.size() &&
      (held.trusted.empty() || judge_change(change_over(e, held.cells()), facts) != tone.change)) {
    const auto loose = std::find_if(slots.begin(), slots.end(), [&](const Slot& slot) {
      return e.places[slot.row].place.trusted && !e.places[slot.row].place.steady;
    });
    return unsettle(loose->row, "it is not proven without");
  }
  if (!gone) return;
  if (const auto place = loudest_unsettled(e, slots))
    unsettle(*place, "nothing is proven where it was loudest before, at");
}

void count_places(const Measured& m, const ToneFacts& facts, ComparedTone& tone) {
  const bool is_new = tone.change == ToneChange::appeared;
  const bool needs_contact = is_new || tone.change == ToneChange::gone;
  for (const Measured::Trusted& place : m.trusted) {
    if (!(is_new ? place.change.after : place.change.before).heard()) continue;
    ++tone.places_heard;
    const bool shows = place.steady || !needs_contact;
    tone.places_proven += shows && judge_change(place.change, facts) == tone.change ? 1 : 0;
  }
}

ComparedTone compare_tone(const Evidence& e, const MatchedTone& matched,
                          const std::vector<Slot>& slots, bool in_pair, std::size_t tones) {
  ComparedTone tone = described(matched);
  Measured m = measure(e, slots);
  tone.at = std::move(m.at);
  if (m.trusted.empty()) {
    tone.prominent_before = matched.before && matched.before->prominent;
    for (const ToneResult* t : matched.after)
      tone.prominent_after = tone.prominent_after || t->prominent;
    tone.why = !in_pair        ? "no take in which it was heard has a partner in the other case"
               : slots.empty() ? "its pitch behaviour is not known, so nor is where to look for it"
                               : distrust_words(e, slots);
    return tone;
  }
  ToneFacts facts;
  // A line of the engine's own that was found before and is no more is gone, too.
  facts.found_before = tone.found_before || (tone.id_before && !tone.found_after);
  facts.found_after = tone.found_after;
  facts.tones_compared = tones;
  facts.rest_degrees = m.rest_degrees();
  for (const ToneAtPlace& at : tone.at) {
    if (!e.places[at.place].place.trusted) continue;
    tone.prominent_before = tone.prominent_before || at.prominent_before;
    tone.prominent_after = tone.prominent_after || at.prominent_after;
  }
  facts.prominent_before = tone.prominent_before;
  facts.prominent_after = tone.prominent_after;
  const LevelChange change = change_over(e, m.cells());
  tone.measured = measured_change(change);
  tone.change = judge_change(change, facts);
  if (tone.change == ToneChange::undetermined) tone.why = why_undetermined(*tone.measured, facts);
  require_proof(e, slots, m, facts, tone);
  count_places(m, facts, tone);
  return tone;
}

ComparedBand compare_band(const Evidence& e, const SuspectBand& band,
                          const std::vector<Slot>& slots) {
  ComparedBand compared;
  compared.band = band.band;
  compared.chosen_by_user = band.chosen_by_user;
  const Measured m = measure(e, slots);
  if (m.trusted.empty()) return compared;
  const LevelChange change = change_over(e, m.cells());
  compared.measured = measured_change(change);
  ToneFacts facts;
  facts.rest_degrees = m.rest_degrees();
  compared.change = judge_change(change, facts);
  return compared;
}

/// What the firing orders did at each place.
void weigh_firing_orders(Evidence& e, const std::vector<MatchedTone>& tones, const Plan& plan) {
  std::vector<std::vector<double>> changes(e.places.size());
  for (std::size_t t = 0; t < tones.size(); ++t) {
    if (!tones[t].before || !tones[t].before->combustion) continue;
    for (const Slot& slot : plan.tones[t]) {
      const auto cell = cell_of(e, slot);
      if (!cell) continue;
      const LevelChange change = change_over(e, {*cell});
      if (change.before.heard()) changes[slot.row].push_back(change.absolute.middle_db);
    }
  }
  for (std::size_t r = 0; r < e.places.size(); ++r) weigh_firing(e.places[r], changes[r]);
}

/// Bootstrapped blocks of about a second, because engines hunt over that time.
std::size_t run_of_a_second(const std::vector<TakeReading>& readings) {
  double longest = 0.0;
  for (const TakeReading& r : readings) longest = std::max(longest, r.block_seconds);
  return longest > 0.0
             ? std::max<std::size_t>(2, static_cast<std::size_t>(std::ceil(1.0 / longest)))
             : 2;
}

bool lies_in(const ToneResult& tone, const AnalysisRequest::Band& band) {
  const bool in_orders = band.unit == AnalysisRequest::Band::Unit::order;
  if (in_orders && !tone.order) return false;
  const Interval place = in_orders ? Interval{*tone.order, *tone.order} : tone.frequency_hz;
  return place.low <= band.range.high && place.high >= band.range.low;
}

/// The tone of the complaint: the strongest howl before, in the user's band where one was given.
std::optional<std::size_t> complaint(const std::vector<MatchedTone>& tones,
                                     const std::optional<AnalysisRequest::Band>& band) {
  for (std::size_t t = 0; t < tones.size(); ++t) {
    const ToneResult* tone = tones[t].before;
    if (!tone || tone->combustion || !tone->remark.empty()) continue;
    if (!band || lies_in(*tone, *band)) return t;
  }
  return std::nullopt;
}

int urgency(const ComparedTone& tone) {
  if (is_new_howl(tone)) return 0;
  if (tone.combustion || !tone.remark.empty()) return 3;
  return tone.prominent_before || tone.prominent_after ? 1 : 2;
}

/// New howls first, each before its multiples, then the complaint's tone, then prominent ones; else
/// as the analyses sort them.
std::vector<ComparedTone> most_important_first(std::vector<ComparedTone> tones,
                                               std::optional<std::size_t> howl) {
  std::vector<std::tuple<int, int, std::size_t>> keys;
  for (std::size_t t = 0; t < tones.size(); ++t) {
    const bool complained = howl == t;
    const int among_alike = tones[t].multiple ? 1 : 0;
    keys.emplace_back(complained ? 1 : urgency(tones[t]), complained ? -1 : among_alike, t);
  }
  std::sort(keys.begin(), keys.end());
  std::vector<ComparedTone> sorted;
  for (const auto& key : keys) sorted.push_back(std::move(tones[std::get<2>(key)]));
  return sorted;
}

std::string record_words(const LoneTakes& lone) {
  return fmt::format("after: {} at {}, as {} before", lone.point, lone.condition,
                     fmt::join(lone.takes, ", "));
}

/// What is wrong with takes after, the one first that keeps the howl from being settled. What is
/// heard to be there still needs no better take.
void advise_to_repeat(Comparison& comparison, const ComparedTone* howl) {
  std::vector<std::string>& list = comparison.record_next;
  const bool still_there =
      howl && (howl->change == ToneChange::unchanged || howl->change == ToneChange::louder);
  for (std::size_t p = 0; p < comparison.places.size() && !still_there; ++p) {
    const ComparedPlace& place = comparison.places[p];
    if (place.record_again.empty()) continue;
    const bool first = howl && howl->unsettled_at == p;
    list.insert(
        first ? list.begin() : list.end(),
        fmt::format("after: {} at {} again, {}", place.point, place.condition, place.record_again));
  }
}

void advise(Comparison& comparison, const ComparedTone* howl, const std::set<std::string>& heard) {
  std::vector<std::string>& list = comparison.record_next;
  advise_to_repeat(comparison, howl);
  const auto with_howl = [&](const LoneTakes& lone) {
    return std::any_of(lone.takes.begin(), lone.takes.end(),
                       [&](const std::string& id) { return heard.contains(id); });
  };
  for (const bool first : {true, false})
    for (const LoneTakes& lone : comparison.only_before)
      if (with_howl(lone) == first) list.push_back(record_words(lone));
  const bool settled = howl && howl->change != ToneChange::undetermined;
  if (howl && !settled && howl->measured && !howl->unsettled_at)
    list.insert(list.begin(),
                "after: each place once more, the probe lifted and set again; repeats narrow the "
                "intervals");
  if (list.size() > kMostAdvice) {
    const std::size_t rest = list.size() - kMostAdvice;
    list.resize(kMostAdvice);
    list.push_back(fmt::format("and {} more", rest));
  }
}

void warn(Comparison& comparison, const Evidence& e) {
  if (const auto gain = gain_change(e.places))
    comparison.warnings.push_back(fmt::format(
        "the rest of the spectrum is {:.0f} dB {} at all {} places: was the gain the same? Levels "
        "are dB re full scale, and only those of one gain setting can be compared",
        std::abs(*gain), *gain > 0.0 ? "louder" : "quieter", e.places.size()));
  for (const auto& [side, of] : {std::pair("before", &e.before), std::pair("after", &e.after)})
    for (const std::string& id : of->changed)
      comparison.warnings.push_back(fmt::format(
          "{}: {} was changed since it was added, and proves nothing; see howlpoint check", side,
          id));
  bool repeated = false;
  for (const TakeRow& row : e.pairs.rows)
    repeated = repeated || row.before.size() > 1 || row.after.size() > 1;
  if (!e.pairs.rows.empty() && !repeated)
    comparison.warnings.emplace_back(
        "no point was recorded twice, so the spread of hand and probe is assumed (2 dB)");
}

std::vector<bool> paired_takes(const TakePairs& pairs, std::size_t count,
                               std::vector<std::size_t> TakeRow::*side) {
  std::vector<bool> paired(count);
  for (const TakeRow& row : pairs.rows)
    for (const std::size_t i : row.*side) paired[i] = true;
  return paired;
}

AnalysedCase open_case(const CaseAtHand& at_hand, const Progress& progress) {
  const fs::path& folder = at_hand.folder;
  AnalysedCase opened;
  opened.analysis = at_hand.analysis;
  for (const Take& take : at_hand.value.takes) {
    progress(0.0, "opening take " + take.id);
    std::vector<std::string> told_already;
    // What was recorded while the suspect did not work has no howl to lose.
    if (take.background || std::holds_alternative<EngineOff>(take.speed)) continue;
    opened.takes.push_back(open_take(folder, take, at_hand.value.cylinders, told_already));
    heed_quality(opened.takes.back());  // what it found is in the analysis
    if (sha256_of_file(folder / take.recording) != take.sha256) opened.changed.insert(take.id);
  }
  return opened;
}

Progress part_of(const Progress& progress, double from, double to) {
  return [&progress, from, to](double fraction, std::string_view stage) {
    progress(from + fraction * (to - from), stage);
  };
}

void require_different(const fs::path& before, const fs::path& after) {
  std::error_code ignored;
  if (fs::equivalent(before, after, ignored))
    throw Error(Fault::command, after.string(), "both names are one and the same case",
                "name the case before the repair, then the one after it");
}

void require_takes(const fs::path& folder, const Case& value) {
  if (value.takes.empty())
    throw Error(Fault::file, folder.string(),
                "the case has no takes, so there is nothing to compare",
                "add some with: howlpoint add");
}

/// Recordings that are in both cases prove nothing.
std::vector<std::string> twice_used(const Case& before, const Case& after) {
  std::vector<std::string> warnings;
  for (const Take& b : before.takes)
    for (const Take& a : after.takes)
      if (a.sha256 == b.sha256)
        warnings.push_back(fmt::format(
            "{} before and {} after are the same recording, which proves nothing", b.id, a.id));
  return warnings;
}

[[noreturn]] void refuse_map(const std::pair<std::string, std::string>& pair, std::string what,
                             std::string remedy) {
  throw Error(Fault::command, "--map " + pair.first + "=" + pair.second, std::move(what),
              std::move(remedy));
}

/// Takes of two points on one side would be averaged as if somebody had repeated one.
void require_one_each(const Case& before, const PointMap& renamed) {
  const auto own_name = [&](const std::string& point) {
    return std::none_of(renamed.begin(), renamed.end(),
                        [&](const auto& pair) { return same_point(pair.first, point); });
  };
  for (const auto& pair : renamed) {
    for (const auto& other : renamed) {
      if (&other == &pair) continue;
      if (same_point(other.second, pair.second))
        refuse_map(pair, fmt::format("'{}' would be compared with that point too", other.first),
                   "map each point of the case before onto one of its own");
      if (same_point(other.first, pair.first))
        refuse_map(pair, fmt::format("'{}' was given another name already", other.first),
                   "give each point of the case before one name");
    }
    for (const Take& take : before.takes)
      if (same_point(take.point, pair.second) && own_name(take.point))
        refuse_map(pair,
                   fmt::format("the case before has takes at '{}' itself, which would be compared "
                               "with that point too",
                               take.point),
                   fmt::format("map '{}' as well, or leave this out", take.point));
  }
}

void require_points(const Case& before, const Case& after, const PointMap& renamed) {
  const auto has = [](const Case& value, const std::string& name) {
    return std::any_of(value.points.begin(), value.points.end(),
                       [&](const ProbePoint& p) { return same_point(p.name, name); });
  };
  for (const auto& pair : renamed) {
    if (!has(before, pair.first))
      refuse_map(pair, "the case before has no point '" + pair.first + "'",
                 "write --map BEFORE=AFTER");
    if (!has(after, pair.second))
      refuse_map(pair, "the case after has no point '" + pair.second + "'",
                 "write --map BEFORE=AFTER");
  }
  require_one_each(before, renamed);
}

}  // namespace

Comparison compare_analysed(const AnalysedCase& before, const AnalysedCase& after,
                            const ComparisonRequest& request, const Progress& progress) {
  const TakePairs pairs = pair_takes(before.takes, after.takes, request.renamed);
  const std::vector<MatchedTone> matched =
      match_tones(before.analysis.tones, before.takes, after.analysis.tones, after.takes, pairs);
  const std::optional<SuspectBand>& band = before.analysis.suspect_band;
  const Plan plan = make_plan(matched, pairs, band, before, after);
  progress(0.1, "measuring the takes before");
  Evidence e{before, after, pairs, {}, {}, {}};
  e.readings_before =
      read_all(before, plan.before, paired_takes(pairs, before.takes.size(), &TakeRow::before));
  progress(0.5, "measuring the takes after");
  e.readings_after =
      read_all(after, plan.after, paired_takes(pairs, after.takes.size(), &TakeRow::after));
  e.block_run = std::max(run_of_a_second(e.readings_before), run_of_a_second(e.readings_after));
  for (const TakeRow& row : pairs.rows)
    e.places.push_back(place_evidence(row, before, after, e.readings_before, e.readings_after));
  weigh_firing_orders(e, matched, plan);
  progress(0.8, "comparing tone by tone");

  const auto howl = complaint(matched, request.analysis.band);
  Comparison comparison;
  std::vector<ComparedTone> tones;
  for (std::size_t t = 0; t < matched.size(); ++t)
    tones.push_back(compare_tone(e, matched[t], plan.tones[t], plan.heard_in_pair[t],
                                 std::max<std::size_t>(1, matched.size())));
  mark_multiples(tones, matched);
  const auto howl_id = howl ? matched[*howl].before->id : std::string{};
  const std::set<std::string> heard =
      howl ? std::set<std::string>(matched[*howl].before->takes.begin(),
                                   matched[*howl].before->takes.end())
           : std::set<std::string>{};
  comparison.tones = most_important_first(std::move(tones), howl);
  if (band) comparison.band = compare_band(e, *band, plan.band);
  for (PlaceEvidence& place : e.places) comparison.places.push_back(std::move(place.place));
  comparison.only_before = pairs.only_before;
  comparison.only_after = pairs.only_after;
  const auto found =
      std::find_if(comparison.tones.begin(), comparison.tones.end(),
                   [&](const ComparedTone& tone) { return howl && tone.id_before == howl_id; });
  const ComparedTone* complained = found == comparison.tones.end() ? nullptr : &*found;
  if (complained) comparison.howl = complained->change;
  advise(comparison, complained, heard);
  comparison.verdict = verdict_words(comparison, complained);
  for (std::size_t r = 0; r < e.places.size(); ++r) e.places[r].place = comparison.places[r];
  warn(comparison, e);
  progress(1.0, "done");
  return comparison;
}

Comparison compare_cases(const CaseAtHand& before, const CaseAtHand& after,
                         const ComparisonRequest& request, const Progress& progress) {
  require_different(before.folder, after.folder);
  require_takes(before.folder, before.value);
  require_takes(after.folder, after.value);
  require_points(before.value, after.value, request.renamed);
  const AnalysedCase was = open_case(before, progress);
  const AnalysedCase is = open_case(after, progress);
  Comparison comparison = compare_analysed(was, is, request, progress);
  for (std::string& text : twice_used(before.value, after.value))
    comparison.warnings.push_back(std::move(text));
  return comparison;
}

Comparison compare_cases(const fs::path& folder_before, const fs::path& folder_after,
                         const ComparisonRequest& request, const Progress& progress) {
  const Case before = load_case(folder_before);
  const Case after = load_case(folder_after);
  require_different(folder_before, folder_after);
  require_takes(folder_before, before);
  require_takes(folder_after, after);
  require_points(before, after, request.renamed);
  const Analysis was = analyse(folder_before, before, request.analysis, part_of(progress, 0, 0.4));
  const Analysis is = analyse(folder_after, after, request.analysis, part_of(progress, 0.4, 0.8));
  return compare_cases({folder_before, before, was}, {folder_after, after, is}, request,
                       part_of(progress, 0.8, 1.0));
}

}  // namespace howl
