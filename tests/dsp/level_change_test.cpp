#include "dsp/level_change.h"

#include <doctest/doctest.h>

#include <cmath>
#include <stdexcept>
#include <vector>

using namespace howl;

namespace {

WindowBlocks steady(double power, double noise = 0.0) {
  return {std::vector<double>(12, power), noise};
}

ChangeCell cell(double before, double after, double noise = 0.0) {
  ChangeCell c;
  c.before = {steady(before, noise)};
  c.after = {steady(after, noise)};
  return c;
}

}  // namespace

TEST_CASE("level change: a quarter of the power is 6.02 dB less") {
  const LevelChange change = level_change(std::vector{cell(1.0, 0.25)}, {});
  CHECK(*change.before.level_db == doctest::Approx(0.0));
  CHECK(*change.after.level_db == doctest::Approx(-6.0206));
  CHECK(*change.absolute.change_db == doctest::Approx(-6.0206));
  CHECK(change.repeat_sd_db == doctest::Approx(2.0));
  // Student with the 4 degrees of the expectation, two settings of 2 dB each: ±2.776·2·√2 = ±7.85;
  // the same to a tenth by 2000 replicates.
  CHECK(*change.absolute.high_db - *change.absolute.low_db == doctest::Approx(15.7).epsilon(0.1));
  // Relative to a rest that did not move and does not scatter, nothing is left to chance.
  CHECK(*change.relative.low_db == doctest::Approx(-6.0206));
  CHECK(*change.relative.high_db == doctest::Approx(-6.0206));
}

TEST_CASE("level change: what all the spectrum does is no change of the tone") {
  ChangeCell c = cell(1.0, 0.01);
  c.rest_db = -20.0;
  c.rest_scatter_db = 1.0;
  const LevelChange change = level_change(std::vector{c}, {});
  CHECK(*change.absolute.change_db == doctest::Approx(-20.0));
  CHECK(*change.relative.change_db == doctest::Approx(0.0));
  // ±1.96 dB: the scatter of single bands.
  CHECK(*change.relative.high_db == doctest::Approx(1.96).epsilon(0.1));
}

TEST_CASE("level change: a tone that drowned is below a bound, and its change too") {
  const LevelChange change = level_change(std::vector{cell(1.0, 0.001, 0.001)}, {});
  CHECK(*change.before.level_db == doctest::Approx(-0.0043).epsilon(0.05));
  CHECK(!change.after.heard());
  // Noise known to 1 dB (s.d.): the tone may hold 1 − 10^(−0.196) = 36 % of the window.
  CHECK(change.after.upper_db == doctest::Approx(-30.0 + 10.0 * std::log10(0.363)).epsilon(0.02));
  CHECK(!change.absolute.change_db);
  CHECK(!change.absolute.low_db);
  CHECK(*change.absolute.high_db < -25.0);
}

TEST_CASE("level change: never quieter than 13 dB under the noise") {
  // Less in the window than the noise about it: the tone is not heard, and not infinitely quiet.
  const LevelChange change = level_change(std::vector{cell(1.0, 0.0005, 0.001)}, {});
  CHECK(!change.after.heard());
  CHECK(change.after.upper_db == doctest::Approx(-43.0));
}

TEST_CASE("level change: repeats narrow the interval, and spread widens it") {
  ChangeCell like = cell(1.0, 1.0);
  ChangeCell unlike = like;
  for (int r = 1; r < 4; ++r) {
    like.before.push_back(steady(1.0));
    like.after.push_back(steady(1.0));
    unlike.before.push_back(steady(r % 2 ? 10.0 : 0.1));
    unlike.after.push_back(steady(r % 2 ? 10.0 : 0.1));
  }
  const auto width = [](const ChangeCell& c) {
    const LevelChange change = level_change(std::vector{c}, {});
    return *change.absolute.high_db - *change.absolute.low_db;
  };
  CHECK(width(like) < 0.5 * width(cell(1.0, 1.0)));
  CHECK(width(unlike) > 3.0 * width(like));
}

TEST_CASE("level change: a side without takes is refused") {
  ChangeCell c = cell(1.0, 1.0);
  c.after.clear();
  CHECK_THROWS_AS(level_change(std::vector{c}, {}), std::invalid_argument);
  CHECK_THROWS_AS(level_change({}, {}), std::invalid_argument);
}

TEST_CASE("level change: an end is moved out in proportion to Student's quantiles") {
  // t(0.975, 10) = 2.228, t(0.995, 10) = 3.169 (Abramowitz & Stegun, Table 26.10).
  CHECK(at_confidence(2.228, 0.0, 0.99, 10.0) == doctest::Approx(3.169).epsilon(0.001));
  CHECK(at_confidence(-12.228, -10.0, 0.99, 10.0) == doctest::Approx(-13.169).epsilon(0.001));
  CHECK(at_confidence(2.0, 0.0, 0.95, 10.0) == doctest::Approx(2.0));
}
