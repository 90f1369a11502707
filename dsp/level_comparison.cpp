#include "dsp/level_comparison.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <stdexcept>
#include <utility>

#include "dsp/level.h"
#include "dsp/repeat_spread.h"

namespace howl {

namespace {

/// Smallest part of a measured power that the source may have in a replicate.
constexpr double kLeastShare = 0.1;
constexpr double kBoundShare = 0.5;  // 3 dB below what was measured

/// The repeats of one point in one condition.
struct Cell {
  std::vector<const TakeBlocks*> repeats;
};
using Cells = std::map<std::size_t, std::vector<Cell>>;  // point -> one cell a condition

using Backgrounds = std::span<const BackgroundBlocks>;

Cells arrange(std::span<const TakeBlocks> takes, Backgrounds backgrounds) {
  std::map<std::size_t, std::map<std::size_t, Cell>> sparse;
  std::set<std::size_t> conditions;
  for (const BackgroundBlocks& background : backgrounds)
    if (background.block_power.empty() || background.takes == 0)
      throw std::invalid_argument("compare_levels: a background without blocks");
  for (const TakeBlocks& take : takes) {
    if (take.block_power.empty())
      throw std::invalid_argument("compare_levels: a take without blocks");
    if (take.background.value_or(0) >= std::max<std::size_t>(backgrounds.size(), 1) ||
        (take.background && backgrounds.empty()))
      throw std::invalid_argument("compare_levels: a background that is not there");
    sparse[take.point][take.condition].repeats.push_back(&take);
    conditions.insert(take.condition);
  }
  Cells cells;
  for (auto& [point, own] : sparse) {
    if (own.size() != conditions.size())
      throw std::invalid_argument("compare_levels: a point lacks a condition");
    for (auto& [condition, cell] : own) cells[point].push_back(std::move(cell));
  }
  return cells;
}

RepeatSpread pooled_spread(const Cells& cells, const ComparisonParameters& q) {
  RepeatSpread spread(q.expected_repeat_sd_db, q.expected_repeat_degrees);
  for (const auto& [point, conditions] : cells)
    for (const Cell& cell : conditions) {
      std::vector<double> levels;
      for (const TakeBlocks* take : cell.repeats)
        levels.push_back(finite_db(mean(take->block_power)) + take->correction_db);
      spread.add(levels);
    }
  return spread;
}

/// A point's energy as measured, and how much of it is background; corrected for the source.
struct Energies {
  double measured{};
  double background{};

  double own(double least_share) const {
    return std::max(measured - background, least_share * measured);
  }
};

double gain_of(double decibels) { return std::pow(10.0, decibels / 10.0); }

Energies mean_energies(const std::vector<Cell>& conditions, Backgrounds backgrounds) {
  Energies sum;
  for (const Cell& cell : conditions) {
    const double share = 1.0 / static_cast<double>(cell.repeats.size() * conditions.size());
    for (const TakeBlocks* take : cell.repeats) {
      const double gain = share * gain_of(take->correction_db);
      sum.measured += gain * mean(take->block_power);
      if (take->background)
        sum.background += gain * mean(backgrounds[*take->background].block_power);
    }
  }
  return sum;
}

OwnLevel own_level(const Energies& energies) {
  const Decibel measured(finite_db(energies.measured));
  if (energies.background == 0.0) return {OwnLevel::Kind::corrected, measured};
  return without_background(measured, Decibel(finite_db(energies.background)));
}

/// Bootstrap means of every take and background, prepared once.
struct Resamples {
  std::map<const TakeBlocks*, std::vector<double>> takes;
  std::vector<std::vector<double>> backgrounds;
};

std::vector<double> resample(const std::vector<double>& blocks, const ComparisonParameters& q,
                             Random& random) {
  const std::size_t run = std::clamp<std::size_t>(blocks.size() / 3, 1, q.block_run);
  return block_bootstrap_means(blocks, run, q.replicates, random);
}

Resamples resample_all(std::span<const TakeBlocks> takes, Backgrounds backgrounds,
                       const ComparisonParameters& q, Random& random) {
  Resamples means;
  for (const TakeBlocks& take : takes) means.takes[&take] = resample(take.block_power, q, random);
  for (const BackgroundBlocks& background : backgrounds)
    means.backgrounds.push_back(resample(background.block_power, q, random));
  return means;
}

/// What one replicate draws for all points alike.
struct Spread {
  double sd;                        ///< between repeats, dB
  double likely_sd;                 ///< its best estimate
  std::vector<double> backgrounds;  ///< the power of each
};

Spread draw_spread(const RepeatSpread& spread, const Resamples& means, Backgrounds backgrounds,
                   std::size_t replicate, Random& random) {
  Spread drawn{spread.draw_sd_db(random), spread.likely_sd_db(), {}};
  for (std::size_t i = 0; i < backgrounds.size(); ++i)
    drawn.backgrounds.push_back(
        means.backgrounds[i][replicate] /
        draw_repeat_error(backgrounds[i].takes, drawn.sd, drawn.likely_sd, random));
  return drawn;
}

double draw_gain(const TakeBlocks& take, Random& random) {
  if (take.correction_sd_db <= 0.0) return gain_of(take.correction_db);
  return gain_of(take.correction_db + take.correction_sd_db * draw_normal(random));
}

Energies replicate_energies(const std::vector<Cell>& conditions, const Resamples& means,
                            std::size_t replicate, const Spread& spread, Random& random) {
  Energies sum;
  const auto count = static_cast<double>(conditions.size());
  for (const Cell& cell : conditions) {
    double measured = 0.0;
    double background = 0.0;
    for (const TakeBlocks* take : cell.repeats) {
      const double gain = draw_gain(*take, random);
      measured += gain * means.takes.at(take)[replicate];
      if (take->background) background += gain * spread.backgrounds[*take->background];
    }
    const std::size_t repeats = cell.repeats.size();
    sum.measured += measured / static_cast<double>(repeats) /
                    draw_repeat_error(repeats, spread.sd, spread.likely_sd, random) / count;
    sum.background += background / static_cast<double>(repeats) / count;
  }
  return sum;
}

/// Replicates of a point's level, and how often the background left next to nothing of it.
struct PointReplicates {
  std::vector<double> levels;
  std::size_t drowned{};

  void add(const Energies& energies, bool bound) {
    levels.push_back(finite_db(energies.own(bound ? kBoundShare : kLeastShare)));
    if (energies.measured - energies.background < kLeastShare * energies.measured) ++drowned;
  }
};

/// Replicates of every point's level, in the order of the cells.
std::vector<PointReplicates> replicate_levels(const Cells& cells, std::span<const TakeBlocks> takes,
                                              Backgrounds backgrounds,
                                              const std::vector<ComparedPoint>& points,
                                              const RepeatSpread& spread,
                                              const ComparisonParameters& q) {
  Random random(q.seed);
  const Resamples means = resample_all(takes, backgrounds, q, random);
  std::vector<PointReplicates> replicates(cells.size());
  for (std::size_t b = 0; b < q.replicates; ++b) {
    const Spread drawn = draw_spread(spread, means, backgrounds, b, random);
    std::size_t place = 0;
    for (const auto& [point, conditions] : cells) {
      replicates[place].add(replicate_energies(conditions, means, b, drawn, random),
                            points[place].upper_bound);
      ++place;
    }
  }
  return replicates;
}

Interval level_interval(const ComparedPoint& point, const PointReplicates& replicates,
                        double confidence) {
  Interval interval = percentile_interval(replicates.levels, confidence);
  if (point.upper_bound) interval.high = std::max(interval.high, point.level_db);
  const auto drowned = static_cast<double>(replicates.drowned);
  const auto count = static_cast<double>(replicates.levels.size());
  if (point.upper_bound || drowned > 0.5 * (1.0 - confidence) * count)
    interval.low = -std::numeric_limits<double>::infinity();
  return interval;
}

std::vector<ComparedPoint> estimated_points(const Cells& cells, Backgrounds backgrounds) {
  std::vector<ComparedPoint> points;
  for (const auto& [point, conditions] : cells) {
    const OwnLevel own = own_level(mean_energies(conditions, backgrounds));
    ComparedPoint compared;
    compared.point = point;
    compared.level_db = own.level.value;
    compared.upper_bound = own.kind == OwnLevel::Kind::upper_bound;
    points.push_back(compared);
  }
  return points;
}

/// Louder first; what is only known to be below something comes after what is known.
bool ranks_before(const ComparedPoint& a, const ComparedPoint& b) {
  if (a.upper_bound != b.upper_bound) return b.upper_bound;
  return a.level_db > b.level_db;
}

/// The widest bounds of what is unsure of each point's takes.
std::vector<Interval> unsure_levels(const Cells& cells) {
  std::vector<Interval> unsure;
  for (const auto& [point, conditions] : cells) {
    Interval widest{};
    for (const Cell& cell : conditions)
      for (const TakeBlocks* take : cell.repeats)
        widest = {std::min(widest.low, take->unsure_db.low),
                  std::max(widest.high, take->unsure_db.high)};
    unsure.push_back(widest);
  }
  return unsure;
}

/// Levels moved about within what is unsure of them. Draws nothing where all is sure.
void draw_unsure(std::vector<PointReplicates>& replicates, const std::vector<Interval>& unsure,
                 std::uint64_t seed) {
  Random random(seed + 1);
  for (std::size_t i = 0; i < replicates.size(); ++i) {
    if (unsure[i].width() == 0.0) continue;
    for (double& level : replicates[i].levels)
      level += unsure[i].low + unsure[i].width() * draw_uniform(random);
  }
}

struct Pairs {
  std::vector<std::vector<double>> sd;  // of the difference of two points
  double factor;                        // simultaneous quantile of |deviation|/sd
};

Pairs simultaneous_factor(const std::vector<PointReplicates>& of,
                          const std::vector<ComparedPoint>& estimates, double confidence) {
  const std::size_t points = of.size();
  const std::size_t replicates = of.front().levels.size();
  Pairs pairs{std::vector<std::vector<double>>(points, std::vector<double>(points, 0.0)), 0.0};
  std::vector<double> largest(replicates, 0.0);
  std::vector<double> deviation(replicates);
  for (std::size_t i = 0; i < points; ++i)
    for (std::size_t j = i + 1; j < points; ++j) {
      for (std::size_t b = 0; b < replicates; ++b)
        deviation[b] =
            of[i].levels[b] - of[j].levels[b] - (estimates[i].level_db - estimates[j].level_db);
      const double sd = std::max(standard_deviation(deviation), 1e-9);
      pairs.sd[i][j] = pairs.sd[j][i] = sd;
      for (std::size_t b = 0; b < replicates; ++b)
        largest[b] = std::max(largest[b], std::abs(deviation[b]) / sd);
    }
  pairs.factor = quantile(largest, confidence);
  return pairs;
}

}  // namespace

LevelComparison compare_levels(std::span<const TakeBlocks> takes, const ComparisonParameters& q,
                               std::span<const BackgroundBlocks> backgrounds) {
  LevelComparison result;
  if (takes.empty()) return result;
  const Cells cells = arrange(takes, backgrounds);
  const RepeatSpread spread = pooled_spread(cells, q);
  result.repeat_sd_db = spread.likely_sd_db();
  std::vector<ComparedPoint>& points = result.points;
  points = estimated_points(cells, backgrounds);
  auto replicates = replicate_levels(cells, takes, backgrounds, points, spread, q);
  const std::vector<Interval> unsure = unsure_levels(cells);

  const auto loudest = static_cast<std::size_t>(
      std::min_element(points.begin(), points.end(), ranks_before) - points.begin());
  const Pairs pairs = simultaneous_factor(replicates, points, q.confidence);
  for (std::size_t i = 0; i < points.size(); ++i) {
    ComparedPoint& p = points[i];
    const Interval chance = level_interval(p, replicates[i], q.confidence);
    p.level_ci_db = {chance.low + unsure[i].low, chance.high + unsure[i].high};
    p.below_loudest_db = points[loudest].level_db - p.level_db;
    const double reach = pairs.factor * pairs.sd[loudest][i];
    p.below_loudest_ci_db = {p.below_loudest_db - reach, p.below_loudest_db + reach};
    if (i == loudest) continue;
    p.below_loudest_ci_db.low += unsure[loudest].low - unsure[i].high;
    p.below_loudest_ci_db.high += unsure[loudest].high - unsure[i].low;
  }
  draw_unsure(replicates, unsure, q.seed);
  for (std::size_t b = 0; b < q.replicates; ++b) {
    std::size_t top = 0;
    for (std::size_t i = 1; i < points.size(); ++i)
      if (replicates[i].levels[b] > replicates[top].levels[b]) top = i;
    points[top].probability_loudest += 1.0 / static_cast<double>(q.replicates);
  }
  std::stable_sort(points.begin(), points.end(), ranks_before);
  return result;
}

}  // namespace howl
