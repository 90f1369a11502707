#include "src/speed/coverage.h"

#include <doctest/doctest.h>

using namespace howl;

TEST_CASE("stretches without a speed lie before, between and after those with one") {
  const TimeSpans unknown = without_speed({{1.0, 4.0}, {7.0, 9.0}}, Seconds(10.0));
  REQUIRE(unknown.size() == 3);
  CHECK(unknown[0].low == 0.0);
  CHECK(unknown[0].high == 1.0);
  CHECK(unknown[1].low == 4.0);
  CHECK(unknown[1].high == 7.0);
  CHECK(unknown[2].low == 9.0);
  CHECK(unknown[2].high == 10.0);
  CHECK(places_of(unknown) == "0.0 to 1.0, 4.0 to 7.0 and 9.0 to 10.0 s");
}

TEST_CASE("half a second at either end counts as known, and so does what nobody limits") {
  CHECK(without_speed({{0.5, 9.5}}, Seconds(10.0)).empty());
  CHECK(without_speed({{-3.0, 20.0}}, Seconds(10.0)).empty());
  CHECK(without_speed({}, Seconds(10.0)).empty());
  CHECK(covered(without_speed({{0.6, 9.5}}, Seconds(10.0))) == doctest::Approx(0.6));
}

TEST_CASE("what is known outside the recording only leaves all of it unknown") {
  CHECK(covered(without_speed({{-5.0, -1.0}}, Seconds(10.0))) == doctest::Approx(10.0));
  CHECK(covered(without_speed({{12.0, 15.0}}, Seconds(10.0))) == doctest::Approx(10.0));
}

TEST_CASE("of many places three are named") {
  CHECK(places_of({{0.0, 1.0}}) == "0.0 to 1.0 s");
  CHECK(places_of({{0.0, 1.0}, {2.0, 3.0}}) == "0.0 to 1.0 and 2.0 to 3.0 s");
  CHECK(places_of({{0.0, 1.0}, {2.0, 3.0}, {4.0, 5.0}, {6.0, 7.0}, {8.0, 9.0}}) ==
        "0.0 to 1.0, 2.0 to 3.0, 4.0 to 5.0 s and 2 times more");
}
