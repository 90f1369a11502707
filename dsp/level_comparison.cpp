#include "dsp/level_comparison.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>
#include <stdexcept>
#include <utility>

namespace howl {

namespace {

constexpr double kSilence = 1e-30;  // keeps the logarithm of digital silence finite

double to_db(double power) { return 10.0 * std::log10(std::max(power, kSilence)); }

/// The repeats of one point in one condition.
struct Cell {
  std::vector<const TakeBlocks*> repeats;
};
using Cells = std::map<std::size_t, std::vector<Cell>>;  // point -> one cell a condition

Cells arrange(std::span<const TakeBlocks> takes) {
  std::map<std::size_t, std::map<std::size_t, Cell>> sparse;
  std::set<std::size_t> conditions;
  for (const TakeBlocks& take : takes) {
    if (take.block_power.empty())
      throw std::invalid_argument("compare_levels: a take without blocks");
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

struct RepeatSpread {
  double sum_of_squares;  // dB², the expectation included
  double degrees;
};

RepeatSpread pooled_spread(const Cells& cells, const ComparisonParameters& q) {
  RepeatSpread spread{q.expected_repeat_degrees * q.expected_repeat_sd_db * q.expected_repeat_sd_db,
                      q.expected_repeat_degrees};
  for (const auto& [point, conditions] : cells)
    for (const Cell& cell : conditions) {
      std::vector<double> levels;
      for (const TakeBlocks* take : cell.repeats) levels.push_back(to_db(mean(take->block_power)));
      const double sd = standard_deviation(levels);
      const auto degrees = static_cast<double>(levels.size() - 1);
      spread.sum_of_squares += degrees * sd * sd;
      spread.degrees += degrees;
    }
  return spread;
}

double energy_mean(const std::vector<Cell>& conditions) {
  double sum = 0.0;
  for (const Cell& cell : conditions) {
    double own = 0.0;
    for (const TakeBlocks* take : cell.repeats) own += mean(take->block_power);
    sum += own / static_cast<double>(cell.repeats.size());
  }
  return sum / static_cast<double>(conditions.size());
}

/// Bootstrap means of every take, prepared once.
using TakeMeans = std::map<const TakeBlocks*, std::vector<double>>;

TakeMeans resample_takes(std::span<const TakeBlocks> takes, const ComparisonParameters& q,
                         Random& random) {
  TakeMeans means;
  for (const TakeBlocks& take : takes) {
    const std::size_t run = std::clamp<std::size_t>(take.block_power.size() / 3, 1, q.block_run);
    means[&take] = block_bootstrap_means(take.block_power, run, q.replicates, random);
  }
  return means;
}

/// How far the energy mean of `repeats` repeats falls from the mean over all thinkable repeats, as
/// a ratio of powers, drawn for a spread of `sd` dB (normal in dB). What an energy mean exceeds the
/// typical repeat by is taken at the best estimate of the spread, `likely_sd`: taken anew at each
/// draw it would give intervals a long tail upwards that no measurement supports.
double draw_repeat_error(std::size_t repeats, double sd, double likely_sd, Random& random) {
  constexpr double nepers_per_db = std::numbers::ln10 / 10.0;
  double sum = 0.0;
  for (std::size_t r = 0; r < repeats; ++r)
    sum += std::exp(nepers_per_db * sd * draw_normal(random));
  const double likely = nepers_per_db * likely_sd;
  return sum / static_cast<double>(repeats) / std::exp(0.5 * likely * likely);
}

double replicate_level(const std::vector<Cell>& conditions, const TakeMeans& means,
                       std::size_t replicate, double repeat_sd, double likely_sd, Random& random) {
  double sum = 0.0;
  for (const Cell& cell : conditions) {
    double own = 0.0;
    for (const TakeBlocks* take : cell.repeats) own += means.at(take)[replicate];
    const std::size_t repeats = cell.repeats.size();
    sum += own / static_cast<double>(repeats) /
           draw_repeat_error(repeats, repeat_sd, likely_sd, random);
  }
  return to_db(sum / static_cast<double>(conditions.size()));
}

/// Replicates of every point's level: levels[point place][replicate].
std::vector<std::vector<double>> replicate_levels(const Cells& cells,
                                                  std::span<const TakeBlocks> takes,
                                                  const RepeatSpread& spread,
                                                  const ComparisonParameters& q) {
  Random random(q.seed);
  const TakeMeans means = resample_takes(takes, q, random);
  const double likely_sd = std::sqrt(spread.sum_of_squares / spread.degrees);
  std::vector<std::vector<double>> levels(cells.size(), std::vector<double>(q.replicates));
  for (std::size_t b = 0; b < q.replicates; ++b) {
    const double sd = std::sqrt(spread.sum_of_squares / draw_chi_square(random, spread.degrees));
    std::size_t place = 0;
    for (const auto& [point, conditions] : cells)
      levels[place++][b] = replicate_level(conditions, means, b, sd, likely_sd, random);
  }
  return levels;
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
void draw_unsure(std::vector<std::vector<double>>& levels, const std::vector<Interval>& unsure,
                 std::uint64_t seed) {
  Random random(seed + 1);
  for (std::size_t i = 0; i < levels.size(); ++i) {
    if (unsure[i].width() == 0.0) continue;
    for (double& level : levels[i])
      level += unsure[i].low + unsure[i].width() * draw_uniform(random);
  }
}

struct Pairs {
  std::vector<std::vector<double>> sd;  // of the difference of two points
  double factor;                        // simultaneous quantile of |deviation|/sd
};

Pairs simultaneous_factor(const std::vector<std::vector<double>>& levels,
                          const std::vector<double>& estimates, double confidence) {
  const std::size_t points = levels.size();
  const std::size_t replicates = levels.front().size();
  Pairs pairs{std::vector<std::vector<double>>(points, std::vector<double>(points, 0.0)), 0.0};
  std::vector<double> largest(replicates, 0.0);
  std::vector<double> deviation(replicates);
  for (std::size_t i = 0; i < points; ++i)
    for (std::size_t j = i + 1; j < points; ++j) {
      for (std::size_t b = 0; b < replicates; ++b)
        deviation[b] = levels[i][b] - levels[j][b] - (estimates[i] - estimates[j]);
      const double sd = std::max(standard_deviation(deviation), 1e-9);
      pairs.sd[i][j] = pairs.sd[j][i] = sd;
      for (std::size_t b = 0; b < replicates; ++b)
        largest[b] = std::max(largest[b], std::abs(deviation[b]) / sd);
    }
  pairs.factor = quantile(largest, confidence);
  return pairs;
}

}  // namespace

LevelComparison compare_levels(std::span<const TakeBlocks> takes, const ComparisonParameters& q) {
  LevelComparison result;
  if (takes.empty()) return result;
  const Cells cells = arrange(takes);
  const RepeatSpread spread = pooled_spread(cells, q);
  result.repeat_sd_db = std::sqrt(spread.sum_of_squares / spread.degrees);
  auto levels = replicate_levels(cells, takes, spread, q);
  const std::vector<Interval> unsure = unsure_levels(cells);

  std::vector<double> estimates;
  for (const auto& [point, conditions] : cells) {
    ComparedPoint compared;
    compared.point = point;
    compared.level_db = to_db(energy_mean(conditions));
    const Interval chance = percentile_interval(levels[estimates.size()], q.confidence);
    const Interval& own = unsure[estimates.size()];
    compared.level_ci_db = {chance.low + own.low, chance.high + own.high};
    estimates.push_back(compared.level_db);
    result.points.push_back(compared);
  }
  const auto loudest = static_cast<std::size_t>(
      std::max_element(estimates.begin(), estimates.end()) - estimates.begin());
  const Pairs pairs = simultaneous_factor(levels, estimates, q.confidence);
  for (std::size_t i = 0; i < result.points.size(); ++i) {
    ComparedPoint& p = result.points[i];
    p.below_loudest_db = estimates[loudest] - estimates[i];
    const double reach = pairs.factor * pairs.sd[loudest][i];
    p.below_loudest_ci_db = {p.below_loudest_db - reach, p.below_loudest_db + reach};
    if (i == loudest) continue;
    p.below_loudest_ci_db.low += unsure[loudest].low - unsure[i].high;
    p.below_loudest_ci_db.high += unsure[loudest].high - unsure[i].low;
  }
  draw_unsure(levels, unsure, q.seed);
  for (std::size_t b = 0; b < q.replicates; ++b) {
    std::size_t top = 0;
    for (std::size_t i = 1; i < levels.size(); ++i)
      if (levels[i][b] > levels[top][b]) top = i;
    result.points[top].probability_loudest += 1.0 / static_cast<double>(q.replicates);
  }
  std::stable_sort(
      result.points.begin(), result.points.end(),
      [](const ComparedPoint& a, const ComparedPoint& b) { return a.level_db > b.level_db; });
  return result;
}

}  // namespace howl
