#include "dsp/level.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

using namespace howl;

TEST_CASE("the level of digital silence is finite, all other levels are exact") {
  CHECK(finite_db(0.0) == doctest::Approx(-300.0));
  CHECK(finite_db(100.0) == doctest::Approx(20.0));
  CHECK(finite_db(1e-20) == doctest::Approx(-200.0));
}

TEST_CASE("energy sum of two levels exceeds the higher by 10 lg(1 + 10^(−d/10))") {
  struct Row {
    double difference, gain;
  };
  constexpr std::array<Row, 7> rows{
      {{0, 3.01}, {1, 2.54}, {3, 1.76}, {6, 0.97}, {10, 0.41}, {15, 0.14}, {20, 0.04}}};
  for (const Row& row : rows) {
    CAPTURE(row.difference);
    const std::array levels{70.0_db, Decibel(70.0 - row.difference)};
    CHECK(std::abs(energy_sum(levels)->value - 70.0 - row.gain) <= 0.005);
  }
}

TEST_CASE("levels average as energies") {
  const std::array levels{60.0_db, 66.0_db};
  CHECK(std::abs(energy_mean(levels)->value - 63.96) <= 0.005);  // 10 lg((10^6 + 10^6.6)/2)
  CHECK_FALSE(energy_mean({}));
  CHECK_FALSE(energy_sum({}));
}

TEST_CASE("background correction is −10 lg(1 − 10^(−d/10))") {
  struct Row {
    double difference, correction;
  };
  constexpr std::array<Row, 4> rows{{{3, 3.02}, {6, 1.26}, {10, 0.46}, {15, 0.14}}};
  for (const Row& row : rows) {
    CAPTURE(row.difference);
    const OwnLevel own = without_background(Decibel(80.0 + row.difference), 80.0_db);
    CHECK(own.kind == OwnLevel::Kind::corrected);
    CHECK(std::abs(80.0 + row.difference - own.level.value - row.correction) <= 0.005);
  }
}

TEST_CASE("a level and its background add up again") {
  const OwnLevel own = without_background(71.2_db, 66.0_db);
  const std::array levels{own.level, 66.0_db};
  CHECK(energy_sum(levels)->value == doctest::Approx(71.2));
}

TEST_CASE("closer than 3 dB to the background only an upper bound is known") {
  for (const double difference : {2.99, 1.0, 0.0, -2.0}) {
    CAPTURE(difference);
    const OwnLevel own = without_background(Decibel(50.0 + difference), 50.0_db);
    CHECK(own.kind == OwnLevel::Kind::upper_bound);
    CHECK(std::abs(own.level.value - (50.0 + difference - 3.02)) <= 0.005);
  }
}
