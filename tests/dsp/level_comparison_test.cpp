#include "dsp/level_comparison.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <vector>

using namespace howl;

namespace {

double power(double level_db) { return std::pow(10.0, level_db / 10.0); }

/// Noise-like blocks about a level: chi-square with a few degrees of freedom.
std::vector<double> blocks(double level_db, std::uint64_t seed = 1, std::size_t count = 40) {
  Random random(seed);
  std::vector<double> values;
  for (std::size_t i = 0; i < count; ++i)
    values.push_back(power(level_db) * draw_chi_square(random, 20.0) / 20.0);
  return values;
}

std::vector<double> even_blocks(double level_db) {
  return std::vector<double>(20, power(level_db));
}

const ComparedPoint& point_of(const LevelComparison& comparison, std::size_t point) {
  for (const ComparedPoint& p : comparison.points)
    if (p.point == point) return p;
  FAIL("no such point");
  return comparison.points.front();
}

}  // namespace

TEST_CASE(
    "a background is taken off as energy: K1 = −10 lg(1 − 10^(−ΔL/10)) of the ISO 3744 family") {
  struct Row {
    double over_background, correction;
  };
  constexpr std::array<Row, 5> rows{{{3.02, 3.0}, {6, 1.26}, {10, 0.46}, {15, 0.14}, {20, 0.04}}};
  for (const Row& row : rows) {
    CAPTURE(row.over_background);
    const std::vector<TakeBlocks> takes{{0, 0, even_blocks(row.over_background - 40.0), 0}};
    const std::vector<BackgroundBlocks> backgrounds{{even_blocks(-40.0), 1}};
    const auto comparison = compare_levels(takes, {}, backgrounds);
    const ComparedPoint& p = comparison.points.front();
    CHECK(std::abs(row.over_background - 40.0 - p.level_db - row.correction) <= 0.02);
    CHECK_FALSE(p.upper_bound);
    CHECK(p.level_ci_db.contains(p.level_db));
  }
}

TEST_CASE("a level less than 3 dB over its background is an upper bound and ranks last") {
  const std::vector<TakeBlocks> takes{{0, 0, blocks(-50.0), 0}, {1, 0, blocks(-30.0, 2), 1}};
  const std::vector<BackgroundBlocks> backgrounds{{blocks(-60.0, 3), 1}, {blocks(-31.0, 4), 1}};
  const auto comparison = compare_levels(takes, {}, backgrounds);
  CHECK(comparison.points[0].point == 0);
  CHECK_FALSE(comparison.points[0].upper_bound);
  const ComparedPoint& bound = comparison.points[1];
  CHECK(bound.upper_bound);
  CHECK(bound.level_db == doctest::Approx(-33.0).epsilon(0.01));
  CHECK(bound.below_loudest_db < 0.0);
  CHECK(bound.level_ci_db.low == -std::numeric_limits<double>::infinity());
  CHECK(bound.level_ci_db.high >= bound.level_db);
}

TEST_CASE("near its background a level's interval is open downwards, far from it as before") {
  const auto interval_at = [](double over_background) {
    const std::vector<TakeBlocks> takes{{0, 0, blocks(over_background), 0}};
    const std::vector<BackgroundBlocks> backgrounds{{blocks(0.0, 2), 1}};
    return compare_levels(takes, {}, backgrounds).points.front().level_ci_db;
  };
  const auto alone = compare_levels(std::vector<TakeBlocks>{{0, 0, blocks(30.0)}}, {});
  CHECK(std::isinf(interval_at(3.5).low));
  CHECK(interval_at(12.0).width() > interval_at(30.0).width());
  CHECK(interval_at(30.0).width() ==
        doctest::Approx(alone.points.front().level_ci_db.width()).epsilon(0.1));
}

TEST_CASE("a correction shifts its take, and its error widens the intervals") {
  const std::vector<TakeBlocks> raw{{0, 0, blocks(-46.0)}, {1, 0, blocks(-40.0, 2)}};
  std::vector<TakeBlocks> corrected = raw;
  corrected[0].correction_db = 6.0;
  corrected[1].correction_db = -6.0;
  CHECK(compare_levels(raw, {}).points.front().point == 1);
  const auto sure = compare_levels(corrected, {});
  CHECK(sure.points.front().point == 0);
  CHECK(sure.points.front().level_db ==
        doctest::Approx(point_of(compare_levels(raw, {}), 0).level_db + 6.0));
  for (TakeBlocks& take : corrected) take.correction_sd_db = 3.0;
  const auto unsure = compare_levels(corrected, {});
  CHECK(unsure.points.front().level_db == doctest::Approx(sure.points.front().level_db));
  CHECK(unsure.points.front().level_ci_db.width() > 1.2 * sure.points.front().level_ci_db.width());
  CHECK(unsure.points.back().below_loudest_ci_db.width() >
        1.2 * sure.points.back().below_loudest_ci_db.width());
}

TEST_CASE("repeats that differ by their corrections only do not count as spread") {
  std::vector<TakeBlocks> takes{{0, 0, blocks(-46.0)}, {0, 0, blocks(-34.0, 2)}};
  const double raw = compare_levels(takes, {}).repeat_sd_db;
  takes[0].correction_db = 6.0;
  takes[1].correction_db = -6.0;
  CHECK(compare_levels(takes, {}).repeat_sd_db < 0.5 * raw);
}

TEST_CASE("chance of being the louder of two is Φ(Δ√n/(s√2)) where the spread s is known") {
  // Worked by hand for n repeats of each point (normal distribution function).
  struct Row {
    double difference, spread;
    std::array<double, 3> chance;  // 1, 3 and 5 repeats
  };
  constexpr std::array<Row, 3> rows{{{3.0, 2.0, {0.856, 0.967, 0.991}},
                                     {6.0, 3.0, {0.921, 0.993, 0.999}},
                                     {1.0, 2.0, {0.638, 0.730, 0.785}}}};
  for (const Row& row : rows)
    for (std::size_t i = 0; i < row.chance.size(); ++i) {
      CAPTURE(row.difference);
      CAPTURE(i);
      std::vector<TakeBlocks> takes;
      for (std::size_t repeat = 0; repeat < 2 * i + 1; ++repeat) {
        takes.push_back({0, 0, even_blocks(-40.0 + row.difference)});
        takes.push_back({1, 0, even_blocks(-40.0)});
      }
      ComparisonParameters parameters;
      parameters.replicates = 20'000;
      parameters.expected_repeat_sd_db = row.spread;
      parameters.expected_repeat_degrees = 1e6;  // as good as known
      const auto comparison = compare_levels(takes, parameters);
      CHECK(std::abs(comparison.points.front().probability_loudest - row.chance[i]) <= 0.02);
    }
}

TEST_CASE("a background that is not there is refused") {
  const std::vector<TakeBlocks> takes{{0, 0, blocks(-50.0), 1}};
  const std::vector<BackgroundBlocks> one{{blocks(-60.0), 1}};
  const std::vector<BackgroundBlocks> empty{{{}, 1}, {{}, 1}};
  CHECK_THROWS_AS(compare_levels(takes, {}), std::invalid_argument);
  CHECK_THROWS_AS(compare_levels(takes, {}, one), std::invalid_argument);
  CHECK_THROWS_AS(compare_levels(takes, {}, empty), std::invalid_argument);
}
