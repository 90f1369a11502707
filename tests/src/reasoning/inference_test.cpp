#include "src/reasoning/inference.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "dsp/statistics.h"

using namespace howl;

namespace {

constexpr double impossible = -std::numeric_limits<double>::infinity();

double cost_in(std::span<const RepairChoice> choices, std::span<const std::size_t> order) {
  std::vector<RepairChoice> in_order;
  for (const std::size_t i : order) in_order.push_back(choices[i]);
  return expected_repair_cost(in_order);
}

Belief random_belief(Random& random, std::size_t size) {
  Belief belief(size);
  for (double& p : belief) p = draw_uniform(random) + 1e-3;
  const double sum = std::accumulate(belief.begin(), belief.end(), 0.0);
  for (double& p : belief) p /= sum;
  return belief;
}

}  // namespace

TEST_CASE("repairs go by falling chance per cost (Heckerman, Breese and Rommelse 1995)") {
  // Worked by hand: B,A,C: 1 + 4·0.7 + 2·0.2; A,B,C: 4 + 1·0.5 + 2·0.2; C,A,B: 2 + 4·0.8 + 1·0.3.
  const std::vector<RepairChoice> choices{{0.5, 4.0}, {0.3, 1.0}, {0.2, 2.0}};
  CHECK(repair_order(choices) == std::vector<std::size_t>{1, 0, 2});
  CHECK(cost_in(choices, std::vector<std::size_t>{1, 0, 2}) == doctest::Approx(4.2));
  CHECK(cost_in(choices, std::vector<std::size_t>{0, 1, 2}) == doctest::Approx(4.9));
  CHECK(cost_in(choices, std::vector<std::size_t>{2, 0, 1}) == doctest::Approx(5.5));
}

TEST_CASE("no order of repairs costs less than the one proposed, tried one by one") {
  Random random(4);
  for (int scene = 0; scene < 50; ++scene) {
    const Belief chances = random_belief(random, 5);
    std::vector<RepairChoice> choices;
    for (const double p : chances)
      choices.push_back({.probability = 0.9 * p, .cost = 0.1 + draw_uniform(random)});
    const double proposed = cost_in(choices, repair_order(choices));
    std::vector<std::size_t> order{0, 1, 2, 3, 4};
    double least = std::numeric_limits<double>::max();
    do least = std::min(least, cost_in(choices, order));
    while (std::ranges::next_permutation(order).found);
    CHECK(proposed == doctest::Approx(least));
  }
}

TEST_CASE("equal repairs keep their order, and none cost nothing") {
  CHECK(repair_order(std::vector<RepairChoice>{{0.2, 1.0}, {0.4, 2.0}, {0.1, 0.5}}) ==
        std::vector<std::size_t>{0, 1, 2});
  CHECK(repair_order({}).empty());
  CHECK(expected_repair_cost({}) == 0.0);
}

TEST_CASE("a test that finds 9 of 10 faults and clears 8 of 10 (naive Bayes, worked by hand)") {
  // P(+) = 0.9·0.5 + 0.2·0.5 = 0.55; 0.45/0.55 = 0.8182; 0.05/0.45 = 0.1111.
  const Belief prior{0.5, 0.5};
  const auto found = posterior(prior, std::vector{std::log(0.9), std::log(0.2)});
  const auto not_found = posterior(prior, std::vector{std::log(0.1), std::log(0.8)});
  REQUIRE(found);
  REQUIRE(not_found);
  CHECK((*found)[0] == doctest::Approx(0.8182).epsilon(1e-4));
  CHECK((*not_found)[0] == doctest::Approx(0.1111).epsilon(1e-3));
  CHECK(likelihood_ratio_db(0.9, 0.2) == doctest::Approx(10.0 * std::log10(4.5)));
  CHECK(likelihood_ratio_db(0.1, 0.8) == doctest::Approx(10.0 * std::log10(0.125)));
  CHECK(expected_information_bits(prior, {{0.9, 0.1}, {0.2, 0.8}}) ==
        doctest::Approx(0.3973).epsilon(2e-4));
}

TEST_CASE("entropy of even chances is the binary logarithm of their number (Shannon 1948)") {
  CHECK(entropy_bits(Belief(8, 0.125)) == doctest::Approx(3.0));
  CHECK(entropy_bits(Belief{1.0, 0.0}) == 0.0);
  // Shannon's own example, section 7: 1/2, 1/4, 1/8, 1/8 has 7/4 bits.
  CHECK(entropy_bits(Belief{0.5, 0.25, 0.125, 0.125}) == doctest::Approx(1.75));
}

TEST_CASE("likelihoods too small for a number still give a posterior") {
  const auto belief = posterior(Belief{0.5, 0.25, 0.25}, std::vector{-5000.0, -5000.0, -9000.0});
  REQUIRE(belief);
  CHECK((*belief)[0] == doctest::Approx(2.0 / 3.0));
  CHECK((*belief)[1] == doctest::Approx(1.0 / 3.0));
  CHECK((*belief)[2] == doctest::Approx(0.0));
}

TEST_CASE("what is ruled out stays ruled out, and impossible evidence has no posterior") {
  const auto belief = posterior(Belief{0.0, 0.6, 0.4}, std::vector{0.0, impossible, -3.0});
  REQUIRE(belief);
  CHECK(*belief == Belief{0.0, 0.0, 1.0});
  CHECK_FALSE(posterior(Belief{0.0, 1.0}, std::vector{0.0, impossible}));
}

TEST_CASE("a weight is what the log-odds rise by") {
  Random random(11);
  for (int scene = 0; scene < 100; ++scene) {
    const Belief prior = random_belief(random, 4);
    std::vector<double> logs(4);
    for (double& log : logs) log = -40.0 * draw_uniform(random);
    const auto after = posterior(prior, logs);
    REQUIRE(after);
    const std::vector<double> weights = weights_db(prior, logs);
    for (std::size_t i = 0; i < 4; ++i)
      if ((*after)[i] > 1e-9 && (*after)[i] < 1.0 - 1e-9)
        CHECK(log_odds_db(prior[i]) + weights[i] ==
              doctest::Approx(log_odds_db((*after)[i])).epsilon(1e-5));
  }
}

TEST_CASE("weights of hypotheses that evidence cannot move, or settles") {
  const std::vector<double> weights =
      weights_db(Belief{0.5, 0.5, 0.0}, std::vector{-1.0, impossible, -2.0});
  CHECK(weights[0] == std::numeric_limits<double>::infinity());
  CHECK(weights[1] == impossible);
  CHECK(weights[2] == 0.0);
  CHECK(weights_db(Belief{1.0}, std::vector{-7.0}) == std::vector{0.0});
}

TEST_CASE("log-odds and probability are each other's way back") {
  for (const double p : {0.001, 0.2, 0.5, 0.93})
    CHECK(probability_of_log_odds(log_odds_db(p)) == doctest::Approx(p));
  // Odds of 10 to 1 are one ban, ten decibans.
  CHECK(log_odds_db(10.0 / 11.0) == doctest::Approx(10.0));
  CHECK(probability_of_log_odds(log_odds_db(0.0)) == 0.0);
  CHECK(probability_of_log_odds(log_odds_db(1.0)) == 1.0);
}

TEST_CASE("information is entropy before less mean entropy after, and never below nought") {
  Random random(5);
  for (int scene = 0; scene < 100; ++scene) {
    const Belief belief = random_belief(random, 4);
    OutcomeChances chances;
    for (int i = 0; i < 4; ++i) chances.push_back(random_belief(random, 3));
    double after = 0.0;
    for (std::size_t outcome = 0; outcome < 3; ++outcome) {
      double chance = 0.0;
      std::vector<double> logs;
      for (std::size_t i = 0; i < 4; ++i) {
        chance += belief[i] * chances[i][outcome];
        logs.push_back(std::log(chances[i][outcome]));
      }
      after += chance * entropy_bits(posterior(belief, logs).value());
    }
    const double bits = expected_information_bits(belief, chances);
    CHECK(bits == doctest::Approx(entropy_bits(belief) - after));
    CHECK(bits >= 0.0);
  }
  CHECK(expected_information_bits(Belief{0.3, 0.7}, {{0.1, 0.9}, {0.1, 0.9}}) < 1e-12);
  CHECK(expected_information_bits(Belief{0.5, 0.5}, {{1.0, 0.0}, {0.0, 1.0}}) ==
        doctest::Approx(1.0));
}
