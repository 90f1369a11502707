#include "dsp/coincidences.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <vector>

#include "dsp/statistics.h"

using namespace howl;

TEST_CASE("Poisson-binomial: two unequal trials, by hand") {
  // 0.5 and 0.1: none 0.45, both 0.05.
  const std::vector<double> chances{0.5, 0.1};
  CHECK(poisson_binomial_tail(chances, 0) == doctest::Approx(1.0));
  CHECK(poisson_binomial_tail(chances, 1) == doctest::Approx(0.55));
  CHECK(poisson_binomial_tail(chances, 2) == doctest::Approx(0.05));
  CHECK(poisson_binomial_tail(chances, 3) == 0.0);
}

TEST_CASE("Poisson-binomial with equal chances is binomial") {
  // C(5, 3)·0.2³·0.8² = 0.0512.
  const std::vector<double> chances(5, 0.2);
  CHECK(poisson_binomial(chances)[3] == doctest::Approx(0.0512));
}

TEST_CASE("A scan over stages, by hand") {
  // Two stages of one trial of 0.1 each. A hit in the first (tail 0.1) is less striking than two in
  // two (0.01), and more striking than one in two (0.19).
  const std::array<Stage, 2> both{Stage{{0.1}, 1}, Stage{{0.1}, 1}};
  CHECK(scan_stages(both).chance == doctest::Approx(0.01));
  CHECK(scan_stages(both).stages == 2);
  const std::array<Stage, 2> first{Stage{{0.1}, 1}, Stage{{0.1}, 0}};
  CHECK(scan_stages(first).stages == 1);
  CHECK(scan_stages(first).chance == doctest::Approx(0.1));
  const std::array<Stage, 2> second{Stage{{0.1}, 0}, Stage{{0.1}, 1}};
  CHECK(scan_stages(second).stages == 2);
  CHECK(scan_stages(second).chance == doctest::Approx(0.19));
  const std::array<Stage, 2> none{Stage{{0.1}, 0}, Stage{{0.1}, 0}};
  CHECK(scan_stages(none).stages == 0);
  CHECK(scan_stages(none).chance == 1.0);
}

TEST_CASE("By chance alone, a scan is below p in at most a share p of trials") {
  Random random(5);
  int below = 0;
  constexpr int draws = 20000;
  for (int i = 0; i < draws; ++i) {
    std::vector<Stage> stages(6);
    for (Stage& stage : stages)
      for (int t = 0; t < 2; ++t) {
        const double p = 0.3 * draw_uniform(random);
        stage.chances.push_back(p);
        stage.hits += draw_uniform(random) < p ? 1 : 0;
      }
    below += scan_stages(stages).chance <= 0.05 ? 1 : 0;
  }
  const double sd = std::sqrt(0.05 * 0.95 / draws);
  CHECK(static_cast<double>(below) / draws < 0.05 + 3.0 * sd);
  CHECK(static_cast<double>(below) / draws > 0.02);  // and hardly less: it is exact but for steps
}
