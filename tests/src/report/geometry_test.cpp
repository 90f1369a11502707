#include "src/report/geometry.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

using namespace howl::picture;

TEST_CASE("a line that touches no disc stays straight") {
  const std::vector<Disc> discs{{{50, 20}, 5}, {{-3, 0}, 5}, {{101, 1}, 4}};
  const auto line = around({{0, 0}, {100, 0}}, discs);
  REQUIRE(line.size() == 2);
  CHECK(line.front().x == 0.0);
  CHECK(line.back().x == 100.0);
}

TEST_CASE("a line bows around a disc, on the side on which it passes the centre") {
  // Centre 2 below the line (y grows downwards): it passes above, at y = 2 - 5.
  const std::vector<Disc> below{{{40, 2}, 5}};
  const auto line = around({{0, 0}, {100, 0}}, below);
  REQUIRE(line.size() == 3);
  CHECK(line[1].x == doctest::Approx(40.0));
  CHECK(line[1].y == doctest::Approx(-3.0));
  const std::vector<Disc> above{{{40, -2}, 5}};
  CHECK(around({{0, 0}, {100, 0}}, above)[1].y == doctest::Approx(3.0));
}

TEST_CASE("a slanting line passes each disc at its radius, in the order of its way") {
  const std::vector<Disc> discs{{{60, 62}, 6}, {{30, 29}, 6}};
  const auto line = around({{0, 0}, {90, 90}}, discs);
  REQUIRE(line.size() == 4);
  CHECK(line[1].x < line[2].x);
  CHECK(std::hypot(line[1].x - 30, line[1].y - 29) == doctest::Approx(6.0));
  CHECK(std::hypot(line[2].x - 60, line[2].y - 62) == doctest::Approx(6.0));
}

TEST_CASE("a line without length is left alone") {
  const std::vector<Disc> discs{{{1, 1}, 5}};
  CHECK(around({{1, 1}, {1, 1}}, discs).size() == 2);
}
