#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace howl {

/// Chances of 0, 1, 2, … successes of independent trials (Poisson-binomial distribution), by the
/// recursion over trials.
std::vector<double> poisson_binomial(std::span<const double> chances);

/// Chance of at least `hits` successes.
double poisson_binomial_tail(std::span<const double> chances, std::size_t hits);

/// Trials in stages, and how many succeeded.
struct Stage {
  std::vector<double> chances;
  std::size_t hits{};
};

/// How striking the successes are, stopping at the stage where they are most striking.
struct StageScan {
  double chance{1.0};    ///< that trials by chance are as striking at any stage
  std::size_t stages{};  ///< up to and with the most striking one
};

/// Scans the running totals after each stage for the smallest Poisson-binomial tail, and gives the
/// chance that any stage has one as small: the probability that the running total, a random walk,
/// ever reaches the number of hits that would be as striking there. Exact for independent trials.
StageScan scan_stages(std::span<const Stage> stages);

}  // namespace howl
