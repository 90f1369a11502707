#include "dsp/gear.h"

#include <doctest/doctest.h>

#include <stdexcept>
#include <vector>

using namespace howl;

TEST_CASE("mesh and hunting tooth rates, worked by hand") {
  // 23 teeth at 1800 rpm = 30 Hz drive 67.
  CHECK(mesh_rate(23, 30.0) == doctest::Approx(690.0));
  CHECK(mesh_rate(67, 30.0 * 23 / 67) == doctest::Approx(690.0));
  CHECK(30.0 * 23 / 67 == doctest::Approx(10.2985).epsilon(1e-5));
  CHECK(hunting_tooth_rate(23, 67, 30.0) == doctest::Approx(0.4478).epsilon(1e-4));
  CHECK(hunting_tooth_rate(20, 60, 30.0) == doctest::Approx(10.0));
}

TEST_CASE("final drive 41/11: order 11 of the prop shaft is order 41 of the wheel") {
  const double wheel = 14.413;
  const double prop = wheel * 41.0 / 11.0;
  CHECK(prop == doctest::Approx(53.72).epsilon(1e-4));
  CHECK(mesh_rate(41, wheel) == doctest::Approx(590.9).epsilon(1e-4));
  CHECK(mesh_rate(11, prop) == doctest::Approx(mesh_rate(41, wheel)));
}

TEST_CASE("planetary set of the Ljubljana gear program's listing: 21/108, ratio 6.14286") {
  const PlanetarySet set{21, 108};
  const PlanetarySpeeds speeds = planetary_from_sun_and_ring(set, 1.0, 0.0);
  CHECK(1.0 / speeds.carrier == doctest::Approx(6.14286).epsilon(1e-6));
  CHECK(speeds.carrier == doctest::Approx(0.16279).epsilon(1e-5));
  CHECK(planetary_mesh_rate(set, speeds) == doctest::Approx(17.5814).epsilon(1e-6));
  CHECK(planetary_mesh_rate(set, speeds) == doctest::Approx(108 * speeds.carrier));

  const PlanetarySpeeds sun_fixed = planetary_from_sun_and_ring(set, 0.0, 1.0);
  CHECK(sun_fixed.carrier == doctest::Approx(0.83721).epsilon(1e-5));
  CHECK(planetary_mesh_rate(set, sun_fixed) == doctest::Approx(17.5814).epsilon(1e-6));

  const PlanetarySpeeds carrier_fixed = planetary_from_sun_and_carrier(set, 1.0, 0.0);
  CHECK(carrier_fixed.ring == doctest::Approx(-0.19444).epsilon(1e-4));
  CHECK(planetary_mesh_rate(set, carrier_fixed) == doctest::Approx(21.0));
}

TEST_CASE("planetary set of Shigley, Example 13-6 (from memory): arm 20 rpm, planet 33 1/3 rpm") {
  const PlanetarySet set{20, 80};
  const PlanetarySpeeds speeds = planetary_from_sun_and_ring(set, 100.0, 0.0);
  CHECK(speeds.carrier == doctest::Approx(20.0));
  CHECK(planet_speed(set, 30, speeds) == doctest::Approx(-100.0 / 3.0));
  CHECK(planetary_mesh_rate(set, speeds) / 100.0 == doctest::Approx(16.0));
}

TEST_CASE("a fixed sun of 23 and an arm at 100 rpm turn a ring of 55 at 141.818 rpm") {
  const PlanetarySet set{23, 55};
  CHECK(planetary_from_sun_and_carrier(set, 0.0, 100.0).ring == doctest::Approx(141.818));
  CHECK(planetary_from_ring_and_carrier(set, 100.0 * 78 / 55, 100.0).sun ==
        doctest::Approx(0.0).scale(1.0));
}

TEST_CASE("lines heard at the ring are multiples of the planets (McFadden and Smith 1985)") {
  CHECK(planetary_lines_at_ring({20, 80}, 3, 2) == std::vector<int>{78, 81});
  CHECK(planetary_lines_at_ring({21, 108}, 3, 2) == std::vector<int>{108});
  CHECK(planetary_lines_at_ring({20, 80}, 4, 2) == std::vector<int>{80});
}

TEST_CASE("gears without teeth are refused") {
  CHECK_THROWS_AS(mesh_rate(0, 1.0), std::invalid_argument);
  CHECK_THROWS_AS(planetary_from_sun_and_ring({21, 0}, 1.0, 0.0), std::invalid_argument);
  CHECK_THROWS_AS(planetary_lines_at_ring({20, 80}, 0, 2), std::invalid_argument);
}
