#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace howl {

/// Chances of hypotheses that exclude each other and leave nothing out: each ≥ 0, together 1.
using Belief = std::vector<double>;

/// 10 lg(for_it / against_it), the weight of evidence of I. J. Good, Probability and the Weighing
/// of Evidence (1950), in decibans. Both ≥ 0 and not both 0; infinite where one of them is 0.
double likelihood_ratio_db(double for_it, double against_it);

/// 10 lg(p / (1 − p)), 0 ≤ p ≤ 1: a likelihood ratio in dB adds to it. Infinite at 0 and 1.
double log_odds_db(double probability);
/// The way back from log_odds_db().
double probability_of_log_odds(double db);

/// Bayes's rule. `log_likelihood`: natural logarithm of how likely the evidence is under each
/// hypothesis, up to one constant for all; minus infinity where it is impossible, never plus
/// infinity. Sums of any size are fine: nothing underflows. None where the evidence is impossible
/// under every hypothesis that has a chance: then the model is wrong, not the vehicle.
std::optional<Belief> posterior(std::span<const double> prior,
                                std::span<const double> log_likelihood);

/// Weight of the evidence for each hypothesis against all others together, weighed by their prior,
/// dB: exactly what its log-odds rise by. Zero for a hypothesis that is certain or ruled out
/// before. Infinite where the evidence is impossible under it, or under all others.
std::vector<double> weights_db(std::span<const double> prior,
                               std::span<const double> log_likelihood);

/// Shannon (1948), bits; 0 lg 0 counts as 0.
double entropy_bits(std::span<const double> belief);

/// What can come of a test: row for each hypothesis, in the order of the belief, and in each row
/// the chance of every outcome, together 1. Rows are equally long.
using OutcomeChances = std::vector<std::vector<double>>;

/// What the test is expected to tell about which hypothesis is true (Lindley 1956): entropy before,
/// less the mean entropy after. Bits, ≥ 0; 0 where all hypotheses foretell the same. The test to do
/// next is the one with the most for its cost (de Kleer and Williams 1987, Artificial Intelligence
/// 32, 97–130).
double expected_information_bits(std::span<const double> belief, const OutcomeChances& chances);

/// Something to repair: the chance that this mends it, and what it costs, > 0, in any one unit.
struct RepairChoice {
  double probability{};
  double cost{};
};

/// Places of `choices` in the order that costs least on average, if one fault only is there, costs
/// do not depend on the order, and each repair is followed by a look whether it helped: falling
/// probability / cost (Kadane and Simon 1977; Heckerman, Breese and Rommelse 1995, CACM 38(3),
/// 49–57). Equals stay in the order given.
std::vector<std::size_t> repair_order(std::span<const RepairChoice> choices);

/// Expected cost of repair in the order given, Σ c_i (1 − Σ_{j<i} p_j). Where the chances do not
/// reach 1, the rest stands for a fault that none of them mends and after which all have been
/// tried.
double expected_repair_cost(std::span<const RepairChoice> in_order);

}  // namespace howl
