#include "src/analysis/ranking.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>
#include <utility>

#include "dsp/level_comparison.h"
#include "src/analysis/background.h"
#include "src/analysis/band_levels.h"
#include "src/analysis/like_takes.h"

namespace howl {

namespace {

bool within(const TakeAudio& take, const std::optional<Interval>& speeds) {
  if (!speeds) return true;
  const SpeedCurve::Range range = speed_range(take);
  return range.low.value >= speeds->low * (1.0 - kLikeHold) &&
         range.high.value <= speeds->high * (1.0 + kLikeHold);
}

using PointSet = std::set<std::string>;

struct Selection {
  PointSet points;
  std::set<std::size_t> conditions;
};

/// The points of the condition that most points share, and every condition that has all of them.
Selection select(const std::vector<TakeAudio>& takes, const std::vector<std::size_t>& condition,
                 const std::vector<bool>& usable) {
  std::map<std::size_t, PointSet> points_of;
  for (std::size_t i = 0; i < takes.size(); ++i)
    if (usable[i]) points_of[condition[i]].insert(takes[i].point);
  Selection best;
  for (const auto& [c, points] : points_of)
    if (points.size() > best.points.size()) best.points = points;
  for (const auto& [c, points] : points_of)
    if (std::includes(points.begin(), points.end(), best.points.begin(), best.points.end()))
      best.conditions.insert(c);
  return best;
}

std::vector<bool> chosen_takes(const std::vector<TakeAudio>& takes,
                               const std::vector<std::size_t>& condition,
                               const std::vector<bool>& usable, const Selection& selection) {
  std::vector<bool> chosen;
  for (std::size_t i = 0; i < takes.size(); ++i)
    chosen.push_back(usable[i] && selection.conditions.contains(condition[i]) &&
                     selection.points.contains(takes[i].point));
  return chosen;
}

/// One a take; empty where none is to be corrected.
std::vector<std::optional<LevelCorrection>> corrections_of(
    const std::vector<TakeAudio>& takes, const std::vector<std::size_t>& condition,
    const std::vector<bool>& chosen, const RankingAids& aids, std::vector<std::string>& warnings) {
  std::vector<ReferencedTake> referenced;
  for (std::size_t i = 0; i < takes.size(); ++i)
    if (chosen[i] && !aids.references.empty())
      referenced.push_back(
          {takes[i].id, condition[i], aids.references[i], takes[i].stream_both != nullptr});
  const LevelCorrections found = level_corrections(referenced);
  warnings.insert(warnings.end(), found.warnings.begin(), found.warnings.end());
  std::vector<std::optional<LevelCorrection>> all;
  if (found.takes.empty()) return all;
  auto next = found.takes.begin();
  for (const bool is_chosen : chosen)
    all.push_back(is_chosen ? std::optional(*next++) : std::nullopt);
  return all;
}

/// Energy of what the reference hears too, over the energy of all, at one point.
struct CoherentPart {
  double coherent{};
  double all{};
};

/// By point; a point with a take whose coherence is not known is left out.
std::map<std::string, CoherentPart> coherent_parts(
    const std::vector<TakeAudio>& takes, const std::vector<BandBlocks>& blocks,
    const std::vector<bool>& chosen, const std::vector<std::optional<LevelCorrection>>& corrections,
    const RankingAids& aids) {
  std::map<std::string, CoherentPart> parts;
  std::set<std::string> unknown;
  std::map<std::string, double> count;
  for (std::size_t i = 0; i < takes.size() && !aids.references.empty(); ++i) {
    if (!chosen[i]) continue;
    const auto& reading = aids.references[i];
    if (!reading || !reading->coherence) {
      unknown.insert(takes[i].point);
      continue;
    }
    const double gain =
        corrections.empty() ? 1.0 : std::pow(10.0, corrections[i]->correction_db / 10.0);
    const double power = gain * mean(blocks[i].block_power);
    CoherentPart& part = parts[takes[i].point];
    part.coherent += *reading->coherence * power;
    part.all += power;
    ++count[takes[i].point];
  }
  for (auto& [point, part] : parts) part = {part.coherent / count[point], part.all / count[point]};
  for (const std::string& point : unknown) parts.erase(point);
  return parts;
}

/// Says where a loud point hears something else than the reference does, though the reference does
/// hear what sounds elsewhere.
void describe_coherence(Ranking& ranking, const std::map<std::string, CoherentPart>& parts) {
  constexpr double loud_db = 6.0;
  const auto share = [](const CoherentPart& part) {
    return part.all > 0.0 ? part.coherent / part.all : 0.0;
  };
  const bool hears_some = std::any_of(parts.begin(), parts.end(),
                                      [&](const auto& part) { return share(part.second) >= 0.5; });
  for (RankedPoint& point : ranking.points) {
    const auto part = parts.find(point.point);
    if (part == parts.end()) continue;
    if (part->second.coherent > 0.0)
      point.coherent_level_db = full_scale_level(part->second.coherent).value;
    if (hears_some && share(part->second) < 0.5 && !point.upper_bound &&
        point.below_loudest_db.value_or(loud_db) < loud_db)
      point.warnings.push_back(fmt::format(
          "only {:.0f} % of the energy in the band here is what the reference microphone hears: "
          "this point may have a source of its own",
          100.0 * share(part->second)));
  }
}

struct TakeLevel {
  std::size_t take{};
  double level_db{};
};
using Repeats = std::map<std::pair<std::string, std::size_t>, std::vector<TakeLevel>>;

/// Levels in the band by point and condition.
Repeats repeats_of(const std::vector<TakeAudio>& takes, const std::vector<BandBlocks>& blocks,
                   const std::vector<bool>& chosen, const std::vector<std::size_t>& condition,
                   const std::vector<std::optional<LevelCorrection>>& corrections) {
  Repeats repeats;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (!chosen[i]) continue;
    const double correction = corrections.empty() ? 0.0 : corrections[i]->correction_db;
    repeats[{takes[i].point, condition[i]}].push_back(
        {i, 10.0 * std::log10(mean(blocks[i].block_power)) + correction});
  }
  return repeats;
}

/// Repeats farther apart than hand and probe explain: three standard deviations of a difference.
void describe_repeats(Ranking& ranking, const std::vector<TakeAudio>& takes,
                      const Repeats& repeats) {
  const double most = 3.0 * std::numbers::sqrt2 * ComparisonParameters{}.expected_repeat_sd_db;
  for (const auto& [at, levels] : repeats) {
    const auto [quietest, loudest] = std::ranges::minmax(levels, {}, &TakeLevel::level_db);
    const double apart = loudest.level_db - quietest.level_db;
    const auto point = std::ranges::find(ranking.points, at.first, &RankedPoint::point);
    if (!(apart > most) || !std::isfinite(apart) || point == ranking.points.end()) continue;
    point->warnings.push_back(fmt::format(
        "{} is {:.0f} dB louder in the band than {} at the same speed and load: was the gain the "
        "same, and the probe set as firmly? If not, record it again",
        takes[loudest.take].id, apart, takes[quietest.take].id));
  }
}

/// A level that is only known to lie below something makes no point louder than another.
void restrain_bounds(Ranking& ranking, std::size_t compared, const PointSet& masked) {
  const auto points = std::span(ranking.points).first(compared);
  for (RankedPoint& point : points) {
    if (!point.upper_bound) continue;
    point.probability_loudest.reset();
    if (*point.below_loudest_db < 0.0) {
      point.below_loudest_db.reset();
      point.below_loudest_ci95_db.reset();
    }
    point.warnings.emplace_back(
        masked.contains(point.point)
            ? "a line of the engine's own lies in the band too and covers the tone here: the "
              "level is at most this"
            : "less than 3 dB over its background: the level is at most this");
  }
  if (compared == 0 || !points.front().upper_bound) return;
  for (RankedPoint& point : points) {
    point.call = Call::no_difference;
    point.below_loudest_db.reset();
    point.below_loudest_ci95_db.reset();
  }
  ranking.warnings.emplace_back(
      masked.empty() ? "no point is 3 dB louder than its background, so none can be called loudest"
                     : "no point is 3 dB louder than its background and the engine's own lines in "
                       "the band, so none can be called loudest");
}

void add_take(RankedPoint& point, const TakeAudio& take, const std::vector<std::string>& warnings) {
  point.takes.push_back(take.id);
  for (const std::string& w : warnings) point.warnings.push_back(take.id + ": " + w);
}

RankedPoint not_compared(const std::string& name, const std::vector<TakeAudio>& takes,
                         const std::vector<BandBlocks>& blocks) {
  RankedPoint point;
  point.point = name;
  std::set<std::string> seen;
  bool measurable = false;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (takes[i].point != name) continue;
    add_take(point, takes[i], blocks[i].warnings);
    seen.insert(describe_condition(takes[i]));
    measurable = measurable || !blocks[i].block_power.empty();
  }
  if (!measurable) return point;  // its takes say why
  point.warnings.push_back(fmt::format(
      "not compared: no take at the speed and load of the others, only {}; record one there",
      fmt::join(seen, "; ")));
  return point;
}

}  // namespace

std::string_view call_name(Call call) {
  switch (call) {
    case Call::clear:
      return "clear";
    case Call::likely:
      return "likely";
    case Call::maybe:
      return "maybe";
    case Call::no_difference:
      break;
  }
  return "no difference";
}

Call call_of(double difference_db, const Interval& ci, double surely_loudest) {
  const bool sure = surely_loudest >= 0.975;
  if (difference_db < 3.0 || !(ci.low > 0.0 || sure)) return Call::no_difference;
  if (difference_db >= 10.0 && ci.low >= 3.0) return Call::clear;
  return difference_db >= 6.0 && ci.low > 0.0 ? Call::likely : Call::maybe;
}

Ranking rank_points(const std::vector<TakeAudio>& takes, const AnalysisRequest::Band& band,
                    const std::optional<Interval>& speeds, const RankingAids& aids) {
  Ranking ranking;
  std::vector<BandBlocks> blocks;
  std::vector<bool> usable;
  for (const TakeAudio& take : takes) {
    blocks.push_back(band_blocks(take, band));
    usable.push_back(!blocks.back().block_power.empty() && within(take, speeds));
  }
  // A tone heard in a part of a sweep only: better compare whole takes than nothing.
  if (std::find(usable.begin(), usable.end(), true) == usable.end())
    for (std::size_t i = 0; i < takes.size(); ++i) usable[i] = !blocks[i].block_power.empty();
  const std::vector<std::size_t> condition = conditions_of(takes);
  const Selection selection = select(takes, condition, usable);

  const std::vector<bool> chosen = chosen_takes(takes, condition, usable, selection);
  MatchedBackground background = match_background(takes, condition, chosen, aids.background, band);
  const auto corrections = corrections_of(takes, condition, chosen, aids, ranking.warnings);

  std::vector<std::string> names(selection.points.begin(), selection.points.end());
  std::map<std::string, RankedPoint> by_name;
  std::vector<TakeBlocks> compared;
  PointSet masked_points;
  std::set<std::string> compared_at;
  double block_seconds = 0.0;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (!chosen[i]) continue;
    const auto place = std::find(names.begin(), names.end(), takes[i].point) - names.begin();
    compared.push_back({static_cast<std::size_t>(place), condition[i], blocks[i].block_power,
                        background.of_take[i]});
    if (!aids.masked.empty() && aids.masked[i]) {
      // What is heard may be that line alone.
      compared.back().background = background.backgrounds.size();
      background.backgrounds.push_back({blocks[i].block_power});
      masked_points.insert(takes[i].point);
    }
    compared.back().unsure_db = blocks[i].unsure_db;
    if (!corrections.empty()) {
      compared.back().correction_db = corrections[i]->correction_db;
      compared.back().correction_sd_db = corrections[i]->sd_db;
    }
    add_take(by_name[takes[i].point], takes[i], blocks[i].warnings);
    compared_at.insert(describe_condition(takes[i]));
    block_seconds = std::max(block_seconds, blocks[i].block_seconds);
  }
  for (const auto& correction : corrections)
    ranking.corrections_db.push_back(correction ? std::optional(correction->correction_db)
                                                : std::nullopt);
  for (const auto& [point, warnings] : background.warnings)
    by_name[point].warnings.insert(by_name[point].warnings.end(), warnings.begin(), warnings.end());
  ComparisonParameters parameters;
  // Half-overlapped blocks share noise, and engines hunt over a second or so.
  if (block_seconds > 0.0)
    parameters.block_run =
        std::max<std::size_t>(2, static_cast<std::size_t>(std::ceil(1.0 / block_seconds)));
  const LevelComparison comparison = compare_levels(compared, parameters, background.backgrounds);

  for (const ComparedPoint& c : comparison.points) {
    RankedPoint point = by_name[names[c.point]];
    point.point = names[c.point];
    point.level_db = full_scale_level(std::pow(10.0, c.level_db / 10.0)).value;
    const double shift = *point.level_db - c.level_db;
    point.ci95_db = Interval{c.level_ci_db.low + shift, c.level_ci_db.high + shift};
    point.upper_bound = c.upper_bound;
    point.below_loudest_db = c.below_loudest_db;
    point.below_loudest_ci95_db = c.below_loudest_ci_db;
    point.probability_loudest = c.probability_loudest;
    point.call = call_of(c.below_loudest_db, c.below_loudest_ci_db,
                         comparison.points.front().probability_loudest);
    ranking.points.push_back(std::move(point));
  }
  // The loudest is called against the next.
  if (ranking.points.size() == 1) ranking.points.front().probability_loudest.reset();
  if (ranking.points.size() > 1) {
    Call weakest = Call::clear;
    for (std::size_t i = 1; i < ranking.points.size(); ++i)
      weakest = std::max(weakest, ranking.points[i].call);
    ranking.points.front().call = weakest;
    ranking.points.front().below_loudest_ci95_db = Interval{0.0, 0.0};
  }
  restrain_bounds(ranking, comparison.points.size(), masked_points);
  describe_repeats(ranking, takes, repeats_of(takes, blocks, chosen, condition, corrections));
  describe_coherence(ranking, coherent_parts(takes, blocks, chosen, corrections, aids));
  PointSet all;
  for (const TakeAudio& take : takes) all.insert(take.point);
  for (const std::string& name : all)
    if (!selection.points.contains(name))
      ranking.points.push_back(not_compared(name, takes, blocks));

  if (selection.points.size() == 1)
    ranking.warnings.push_back(
        "only one probe point can be compared; record the same speed and load at others");
  else if (!selection.points.empty() && selection.points.size() < all.size())
    ranking.warnings.push_back(fmt::format(
        "{} of {} probe points have takes at like speed and load ({}); the others are not ranked",
        selection.points.size(), all.size(), fmt::join(compared_at, "; ")));
  const bool repeated = compared.size() > selection.points.size() * selection.conditions.size();
  if (selection.points.size() > 1 && !repeated)
    ranking.warnings.push_back(
        fmt::format("no point was recorded twice, so the spread of hand and probe is assumed "
                    "({:.0f} dB); lift and set "
                    "the probe again for a second take to narrow the intervals",
                    ComparisonParameters{}.expected_repeat_sd_db));
  return ranking;
}

}  // namespace howl
