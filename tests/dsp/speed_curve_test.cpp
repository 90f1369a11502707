#include "dsp/speed_curve.h"

#include <doctest/doctest.h>

#include <numbers>
#include <stdexcept>
#include <vector>

using namespace howl;

TEST_CASE(
    "constant speed: 1500 rpm is 25 revolutions a second, before and after the first node too") {
  const auto curve = SpeedCurve::constant(1500_rpm, 0.005);
  CHECK(curve.at(Seconds(-3)).value == doctest::Approx(1500));
  CHECK(curve.revolutions_at(4_s) - curve.revolutions_at(0_s) == doctest::Approx(100));
  CHECK(curve.time_at(curve.revolutions_at(2.5_s)).value == doctest::Approx(2.5));
}

TEST_CASE("a ramp is exact: 600 to 4200 rpm in 20 s turns (600+4200)/2/60·20 = 800 times") {
  const std::vector<SpeedPoint> points{{0_s, 600_rpm}, {20_s, 4200_rpm}};
  const auto curve = SpeedCurve::through(points, 0.01);
  CHECK(curve.at(10_s).value == doctest::Approx(2400));
  CHECK(curve.revolutions_at(20_s) - curve.revolutions_at(0_s) == doctest::Approx(800));
  // After 5 s: 600/60·5 + ½·3·25 = 87.5 revolutions (180 rpm/s = 3 rev/s²).
  CHECK(curve.revolutions_at(5_s) == doctest::Approx(87.5));
  CHECK(curve.time_at(87.5).value == doctest::Approx(5.0).epsilon(1e-12));
  const auto range = curve.range(5_s, 25_s);
  CHECK(range.low.value == doctest::Approx(1500));
  CHECK(range.high.value == doctest::Approx(4200));
}

TEST_CASE("angle from pulses follows the parabola of Fyfe & Munck 1997 (formula from memory)") {
  // One pulse a revolution at t = 0, 0.100, 0.190 s. θ = b0 + b1·t + b2·t² through the three:
  // b1 = 59.15748 rad/s, b2 = 36.74377 rad/s²; worked by hand: t(π) = 0.0514607 s,
  // t(3π) = 0.1460652 s; 564.912 rpm at 0 s, 698.246 rpm at 0.19 s.
  const std::vector<AnglePoint> pulses{{0_s, 0}, {0.100_s, 1}, {0.190_s, 2}};
  const auto curve = SpeedCurve::through_angles(pulses, 0.0005);
  CHECK(curve.time_at(0.5).value == doctest::Approx(0.0514607).epsilon(1e-6));
  CHECK(curve.time_at(1.0).value == doctest::Approx(0.1).epsilon(1e-12));
  CHECK(curve.time_at(1.5).value == doctest::Approx(0.1460652).epsilon(1e-6));
  CHECK(curve.at(0_s).value == doctest::Approx(564.912).epsilon(1e-6));
  CHECK(curve.at(0.19_s).value == doctest::Approx(698.246).epsilon(1e-6));
}

TEST_CASE("a log 0.2 s late on a ramp of 500 rpm/s reads 100 rpm wrong: 5 % at 2000 rpm") {
  // Worked by hand: 500 · 0.2 = 100.
  const std::vector<SpeedPoint> points{{0_s, 1000_rpm}, {4_s, 3000_rpm}};
  const auto truth = SpeedCurve::through(points, 0.0);
  const auto late = truth.later(Seconds(0.2));
  CHECK(truth.at(2_s).value == doctest::Approx(2000.0));
  CHECK(late.at(2_s).value == doctest::Approx(1900.0));
  CHECK(1.0 - late.at(2_s) / truth.at(2_s) == doctest::Approx(0.05));
}

TEST_CASE("what cannot be a speed is refused") {
  CHECK_THROWS_AS(SpeedCurve::constant(0_rpm, 0.01), std::invalid_argument);
  CHECK_THROWS_AS(SpeedCurve::constant(Rpm(-800), 0.01), std::invalid_argument);
  const std::vector<SpeedPoint> backwards{{1_s, 800_rpm}, {0_s, 900_rpm}};
  CHECK_THROWS_AS(SpeedCurve::through(backwards, 0.01), std::invalid_argument);
  const std::vector<AnglePoint> one{{0_s, 0}};
  CHECK_THROWS_AS(SpeedCurve::through_angles(one, 0.01), std::invalid_argument);
}
