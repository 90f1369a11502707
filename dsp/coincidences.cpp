#include "dsp/coincidences.h"

#include <algorithm>
#include <numeric>

namespace howl {

namespace {

void add_trial(std::vector<double>& counts, double chance) {
  counts.push_back(0.0);
  for (std::size_t i = counts.size() - 1; i > 0; --i)
    counts[i] = counts[i] * (1.0 - chance) + counts[i - 1] * chance;
  counts[0] *= 1.0 - chance;
}

/// Chances of at least 0, 1, 2, … successes.
std::vector<double> tails(const std::vector<double>& counts) {
  std::vector<double> sums(counts.size());
  std::partial_sum(counts.rbegin(), counts.rend(), sums.rbegin());
  return sums;
}

}  // namespace

std::vector<double> poisson_binomial(std::span<const double> chances) {
  std::vector<double> counts{1.0};
  for (const double p : chances) add_trial(counts, p);
  return counts;
}

double poisson_binomial_tail(std::span<const double> chances, std::size_t hits) {
  return hits > chances.size() ? 0.0 : tails(poisson_binomial(chances))[hits];
}

StageScan scan_stages(std::span<const Stage> stages) {
  std::vector<std::vector<double>> tails_after;
  std::vector<double> counts{1.0};
  std::size_t hits = 0;
  StageScan scan;
  double least = 1.0;
  for (const Stage& stage : stages) {
    for (const double p : stage.chances) add_trial(counts, p);
    tails_after.push_back(tails(counts));
    hits += stage.hits;
    if (tails_after.back()[hits] >= least) continue;
    least = tails_after.back()[hits];
    scan.stages = tails_after.size();
  }
  if (scan.stages == 0) return scan;
  const double as_striking = least * (1.0 + 1e-9);
  std::vector<double> alive{1.0};
  scan.chance = 0.0;
  for (std::size_t s = 0; s < stages.size(); ++s) {
    for (const double p : stages[s].chances) add_trial(alive, p);
    for (std::size_t n = 0; n < alive.size(); ++n) {
      if (tails_after[s][n] > as_striking) continue;
      scan.chance += alive[n];
      alive[n] = 0.0;
    }
  }
  return scan;
}

}  // namespace howl
