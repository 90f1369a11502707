#include "src/analysis/ranking.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "dsp/level_comparison.h"
#include "src/analysis/band_levels.h"

namespace howl {

namespace {

constexpr double kLikeHold = 0.03;
constexpr double kLikeSweep = 0.10;
constexpr double kLikeRoad = 0.05;

bool close(double a, double b, double tolerance) {
  return std::abs(a - b) <= tolerance * std::max(a, b);
}

/// km/h; 0 where nothing says that the vehicle moved.
double mean_road_speed(const TakeAudio& take) {
  if (take.road.empty()) return take.road_speed_kmh.value_or(0.0);
  double sum = 0.0;
  for (const RoadSpeedPoint& p : take.road) sum += p.kmh;
  return sum / static_cast<double>(take.road.size());
}

bool comparable(const TakeAudio& a, const TakeAudio& b) {
  if (a.load != b.load || is_hold(a) != is_hold(b)) return false;
  if (a.motion_unknown != b.motion_unknown) return false;
  if (!close(mean_road_speed(a), mean_road_speed(b), kLikeRoad)) return false;
  const SpeedCurve::Range ra = speed_range(a);
  const SpeedCurve::Range rb = speed_range(b);
  if (is_hold(a))
    return close(0.5 * (ra.low + ra.high).value, 0.5 * (rb.low + rb.high).value, kLikeHold);
  return close(ra.low.value, rb.low.value, kLikeSweep) &&
         close(ra.high.value, rb.high.value, kLikeSweep);
}

/// Number of the condition that each take belongs to.
std::vector<std::size_t> conditions_of(const std::vector<TakeAudio>& takes) {
  std::vector<std::size_t> first_of;
  std::vector<std::size_t> condition;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    const auto home = std::find_if(first_of.begin(), first_of.end(),
                                   [&](std::size_t f) { return comparable(takes[f], takes[i]); });
    condition.push_back(static_cast<std::size_t>(home - first_of.begin()));
    if (home == first_of.end()) first_of.push_back(i);
  }
  return condition;
}

std::string describe_condition(const TakeAudio& take) {
  const SpeedCurve::Range range = speed_range(take);
  std::string text = is_hold(take)
                         ? fmt::format("{:.0f} rpm", 0.5 * (range.low + range.high).value)
                         : fmt::format("{:.0f} to {:.0f} rpm", range.low.value, range.high.value);
  for (const auto& [key, value] : take.load) text += fmt::format(", {} {}", key, value);
  if (take.motion_unknown) text += ", road speed not known";
  if (mean_road_speed(take) > 0.0) text += fmt::format(", {:.0f} km/h", mean_road_speed(take));
  return text;
}

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
                    const std::optional<Interval>& speeds) {
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

  std::vector<std::string> names(selection.points.begin(), selection.points.end());
  std::map<std::string, RankedPoint> by_name;
  std::vector<TakeBlocks> compared;
  std::set<std::string> compared_at;
  double block_seconds = 0.0;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    if (!usable[i] || !selection.conditions.contains(condition[i]) ||
        !selection.points.contains(takes[i].point))
      continue;
    const auto place = std::find(names.begin(), names.end(), takes[i].point) - names.begin();
    compared.push_back({static_cast<std::size_t>(place), condition[i], blocks[i].block_power,
                        blocks[i].unsure_db});
    add_take(by_name[takes[i].point], takes[i], blocks[i].warnings);
    compared_at.insert(describe_condition(takes[i]));
    block_seconds = std::max(block_seconds, blocks[i].block_seconds);
  }
  ComparisonParameters parameters;
  // Half-overlapped blocks share noise, and engines hunt over a second or so.
  if (block_seconds > 0.0)
    parameters.block_run =
        std::max<std::size_t>(2, static_cast<std::size_t>(std::ceil(1.0 / block_seconds)));
  const LevelComparison comparison = compare_levels(compared, parameters);

  for (const ComparedPoint& c : comparison.points) {
    RankedPoint point = by_name[names[c.point]];
    point.point = names[c.point];
    point.level_db = full_scale_level(std::pow(10.0, c.level_db / 10.0)).value;
    const double shift = *point.level_db - c.level_db;
    point.ci95_db = Interval{c.level_ci_db.low + shift, c.level_ci_db.high + shift};
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
