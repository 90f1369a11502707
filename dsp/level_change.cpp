#include "dsp/level_change.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "dsp/level.h"
#include "dsp/repeat_spread.h"

namespace howl {

namespace {

constexpr std::size_t kMostBlocks = 600;

double to_power(double db) { return std::pow(10.0, db / 10.0); }

/// Neighbours averaged, so that an hour does not take longer than a minute.
std::vector<double> condensed(std::span<const double> blocks) {
  const std::size_t step = (blocks.size() + kMostBlocks - 1) / kMostBlocks;
  if (step <= 1) return {blocks.begin(), blocks.end()};
  std::vector<double> out;
  for (std::size_t i = 0; i < blocks.size(); i += step)
    out.push_back(mean(blocks.subspan(i, std::min(step, blocks.size() - i))));
  return out;
}

RepeatSpread pooled_spread(std::span<const ChangeCell> cells, const ChangeParameters& q) {
  RepeatSpread spread(q.expected_repeat_sd_db, q.expected_repeat_degrees);
  for (const ChangeCell& cell : cells)
    for (const auto* side : {&cell.before, &cell.after}) {
      std::vector<double> levels;
      for (const WindowBlocks& take : *side) levels.push_back(finite_db(mean(take.block_power)));
      spread.add(levels);
    }
  return spread;
}

/// Replicates of one side of a cell: mean power over the noise, which may be negative.
std::vector<double> excesses(const std::vector<WindowBlocks>& takes, const ChangeParameters& q,
                             Random& random) {
  std::vector<double> sum(q.replicates, 0.0);
  for (const WindowBlocks& take : takes) {
    const std::vector<double> blocks = condensed(take.block_power);
    const std::size_t run = std::clamp<std::size_t>(blocks.size() / 3, 1, q.block_run);
    const auto means = block_bootstrap_means(blocks, run, q.replicates, random);
    for (std::size_t b = 0; b < q.replicates; ++b)
      sum[b] += means[b] - take.noise_power * to_power(q.noise_sd_db * draw_normal(random));
  }
  for (double& s : sum) s /= static_cast<double>(takes.size());
  return sum;
}

double measured(const std::vector<WindowBlocks>& takes) {
  double sum = 0.0;
  for (const WindowBlocks& take : takes) sum += mean(take.block_power) - take.noise_power;
  return sum / static_cast<double>(takes.size());
}

double noise_of(const std::vector<WindowBlocks>& takes) {
  double sum = 0.0;
  for (const WindowBlocks& take : takes) sum += take.noise_power;
  return sum / static_cast<double>(takes.size());
}

/// One side over all cells.
struct Side {
  double excess{};               ///< as measured
  double relative_excess{};      ///< the same, the change of the rest taken off
  double faintest{};             ///< what is claimed at least
  std::vector<double> still;     ///< replicates without the hand
  std::vector<double> handled;   ///< with it
  std::vector<double> relative;  ///< without it, the change of the rest taken off
};

Side side_of(std::span<const ChangeCell> cells, std::vector<WindowBlocks> ChangeCell::*takes_of,
             std::span<const double> spreads, double likely_sd, const ChangeParameters& q,
             Random& random) {
  Side side;
  side.still.assign(q.replicates, 0.0);
  side.handled = side.relative = side.still;
  const bool after = takes_of == &ChangeCell::after;
  const auto share = 1.0 / static_cast<double>(cells.size());
  for (const ChangeCell& cell : cells) {
    const std::vector<WindowBlocks>& takes = cell.*takes_of;
    const double rest = after ? cell.rest_db : 0.0;
    const double scatter = after ? cell.rest_scatter_db : 0.0;
    side.excess += share * measured(takes);
    side.relative_excess += share * measured(takes) / to_power(rest);
    side.faintest += share * noise_of(takes) * to_power(q.deepest_db);
    const double nepers = scatter * std::numbers::ln10 / 10.0;
    const double excess_of_mean = std::exp(0.5 * nepers * nepers);  // of a log-normal
    const std::vector<double> drawn = excesses(takes, q, random);
    for (std::size_t b = 0; b < q.replicates; ++b) {
      const double hand = draw_repeat_error(takes.size(), spreads[b], likely_sd, random);
      side.still[b] += share * drawn[b];
      side.handled[b] += share * drawn[b] / hand;
      side.relative[b] +=
          share * drawn[b] / to_power(rest + scatter * draw_normal(random)) / excess_of_mean;
    }
  }
  return side;
}

ToneLevel level_of(const Side& side, double confidence) {
  ToneLevel level;
  const double tail = 0.5 * (1.0 - confidence);
  level.upper_db = finite_db(std::max(quantile(side.still, 1.0 - tail), side.faintest));
  if (quantile(side.still, tail) > 0.0 && side.excess > 0.0)
    level.level_db = finite_db(side.excess);
  return level;
}

ChangeEstimate estimate_of(const std::vector<double>& before, const std::vector<double>& after,
                           double faintest_before, double faintest_after, double measured_db,
                           bool heard_before, bool heard_after, double confidence) {
  std::vector<double> changes(before.size());
  for (std::size_t b = 0; b < changes.size(); ++b)
    changes[b] = finite_db(std::max(after[b], faintest_after)) -
                 finite_db(std::max(before[b], faintest_before));
  const Interval interval = percentile_interval(changes, confidence);
  ChangeEstimate estimate;
  estimate.middle_db = median(changes);
  if (heard_before && heard_after) estimate.change_db = measured_db;
  if (heard_after) estimate.low_db = interval.low;
  if (heard_before) estimate.high_db = interval.high;
  return estimate;
}

}  // namespace

LevelChange level_change(std::span<const ChangeCell> cells, const ChangeParameters& q) {
  if (cells.empty()) throw std::invalid_argument("level_change: nothing to compare");
  for (const ChangeCell& cell : cells)
    if (cell.before.empty() || cell.after.empty())
      throw std::invalid_argument("level_change: a cell lacks a side");
  Random random(q.seed);
  const RepeatSpread spread = pooled_spread(cells, q);
  std::vector<double> spreads(q.replicates);
  for (double& sd : spreads) sd = spread.draw_sd_db(random);
  const double likely = spread.likely_sd_db();
  const Side before = side_of(cells, &ChangeCell::before, spreads, likely, q, random);
  const Side after = side_of(cells, &ChangeCell::after, spreads, likely, q, random);

  LevelChange change;
  change.repeat_sd_db = likely;
  change.before = level_of(before, q.confidence);
  change.after = level_of(after, q.confidence);
  const auto estimate = [&](const std::vector<double>& from, const std::vector<double>& to,
                            double excess) {
    return estimate_of(from, to, before.faintest, after.faintest,
                       finite_db(excess) - finite_db(before.excess), change.before.heard(),
                       change.after.heard(), q.confidence);
  };
  change.absolute = estimate(before.handled, after.handled, after.excess);
  change.relative = estimate(before.relative, after.relative, after.relative_excess);
  return change;
}

double at_confidence(double end, double middle, double confidence, double degrees) {
  const double ratio =
      student_quantile(0.5 + 0.5 * confidence, degrees) / student_quantile(0.975, degrees);
  return middle + (end - middle) * std::max(1.0, ratio);
}

}  // namespace howl
