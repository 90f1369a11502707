#include "src/reasoning/inference.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace howl {

namespace {

constexpr double impossible = -std::numeric_limits<double>::infinity();
constexpr double db_per_natural_log = 4.342944819032518;  // 10 / ln 10

double log_of(double x) { return x > 0.0 ? std::log(x) : impossible; }

/// Logarithm of the sum of what `logs` are the logarithms of.
double log_sum(std::span<const double> logs) {
  const double highest = logs.empty() ? impossible : *std::ranges::max_element(logs);
  if (highest == impossible) return impossible;
  double sum = 0.0;
  for (const double log : logs) sum += std::exp(log - highest);
  return highest + std::log(sum);
}

std::vector<double> log_joint(std::span<const double> prior,
                              std::span<const double> log_likelihood) {
  std::vector<double> joint(prior.size(), impossible);
  for (std::size_t i = 0; i < prior.size(); ++i)
    if (prior[i] > 0.0) joint[i] = std::log(prior[i]) + log_likelihood[i];
  return joint;
}

std::vector<double> without(std::span<const double> values, std::size_t left_out) {
  std::vector<double> rest;
  for (std::size_t i = 0; i < values.size(); ++i)
    if (i != left_out) rest.push_back(values[i]);
  return rest;
}

double outcome_chance(std::span<const double> belief, const OutcomeChances& chances,
                      std::size_t outcome) {
  double sum = 0.0;
  for (std::size_t i = 0; i < belief.size(); ++i) sum += belief[i] * chances[i][outcome];
  return sum;
}

}  // namespace

double likelihood_ratio_db(double for_it, double against_it) {
  return db_per_natural_log * (log_of(for_it) - log_of(against_it));
}

double log_odds_db(double probability) {
  return likelihood_ratio_db(probability, 1.0 - probability);
}

double probability_of_log_odds(double db) {
  return 1.0 / (1.0 + std::exp(-db / db_per_natural_log));
}

std::optional<Belief> posterior(std::span<const double> prior,
                                std::span<const double> log_likelihood) {
  Belief belief = log_joint(prior, log_likelihood);
  const double whole = log_sum(belief);
  if (whole == impossible) return std::nullopt;
  for (double& value : belief) value = std::exp(value - whole);
  return belief;
}

std::vector<double> weights_db(std::span<const double> prior,
                               std::span<const double> log_likelihood) {
  const std::vector<double> joint = log_joint(prior, log_likelihood);
  std::vector<double> weights(prior.size(), 0.0);
  for (std::size_t i = 0; i < prior.size(); ++i) {
    const std::vector<double> others = without(prior, i);
    const double of_others = std::accumulate(others.begin(), others.end(), 0.0);
    if (!(prior[i] > 0.0) || !(of_others > 0.0)) continue;
    const double under_others = log_sum(without(joint, i)) - std::log(of_others);
    if (log_likelihood[i] == impossible && under_others == impossible) continue;
    weights[i] = db_per_natural_log * (log_likelihood[i] - under_others);
  }
  return weights;
}

double entropy_bits(std::span<const double> belief) {
  double bits = 0.0;
  for (const double p : belief)
    if (p > 0.0) bits -= p * std::log2(p);
  return bits;
}

double expected_information_bits(std::span<const double> belief, const OutcomeChances& chances) {
  if (belief.empty()) return 0.0;
  double bits = 0.0;
  for (std::size_t outcome = 0; outcome < chances.front().size(); ++outcome) {
    const double overall = outcome_chance(belief, chances, outcome);
    for (std::size_t i = 0; i < belief.size(); ++i) {
      const double chance = chances[i][outcome];
      if (belief[i] > 0.0 && chance > 0.0) bits += belief[i] * chance * std::log2(chance / overall);
    }
  }
  return std::max(bits, 0.0);
}

std::vector<std::size_t> repair_order(std::span<const RepairChoice> choices) {
  std::vector<std::size_t> order(choices.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, std::ranges::greater{},
                           [&](std::size_t i) { return choices[i].probability / choices[i].cost; });
  return order;
}

double expected_repair_cost(std::span<const RepairChoice> in_order) {
  double not_mended = 1.0;
  double cost = 0.0;
  for (const RepairChoice& choice : in_order) {
    cost += choice.cost * not_mended;
    not_mended -= choice.probability;
  }
  return cost;
}

}  // namespace howl
