#include "src/profile/load_tests.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <string>
#include <utility>

using namespace howl;

namespace {

const LoadTest& test_of(const char* key) {
  const LoadTest* test = find_load_test(key);
  REQUIRE(test != nullptr);
  return *test;
}

bool warns(const LoadTest& test, const char* words) {
  return std::ranges::any_of(test.cautions, [&](const std::string& caution) {
    return caution.find(words) != std::string::npos;
  });
}

}  // namespace

TEST_CASE("every load test says how, how long, with which values and which cautions") {
  std::set<std::string> keys;
  for (const LoadTest& test : load_tests()) {
    CAPTURE(test.key);
    CHECK(keys.insert(test.key).second);
    CHECK_FALSE(test.title.empty());
    CHECK_FALSE(test.how.empty());
    CHECK(test.minutes > 0.0);
    CHECK(warns(test, "service manual"));
    REQUIRE_FALSE(test.base.empty());
    REQUIRE_FALSE(test.loaded.empty());
    for (const std::string& value : test.base) CHECK(is_loaded(test, value) == false);
    for (const std::string& value : test.loaded) CHECK(is_loaded(test, value) == true);
    CHECK(find_load_test(test.key) == &test);
  }
  for (const char* key :
       {"steering", "ac", "electrical", "selector", "coast", "standing", "belt", "clutch"})
    CHECK(keys.contains(key));
  CHECK(find_load_test("moon") == nullptr);
}

TEST_CASE("values of a load are told whatever their case and spaces") {
  CHECK(is_loaded(test_of("steering"), " Left  Stop ") == true);
  CHECK(is_loaded(test_of("steering"), "CENTRE") == false);
  CHECK(is_loaded(test_of("steering"), "somewhat left") == std::nullopt);
  CHECK(is_loaded(test_of("selector"), "Drive") == true);
  CHECK(is_loaded(test_of("selector"), "p") == false);
  CHECK(is_loaded(test_of("electrical"), "High") == true);
  CHECK(is_loaded(test_of("belt"), "off") == true);
  CHECK(is_loaded(test_of("belt"), "on") == false);
  CHECK(is_loaded(test_of("ac"), "") == std::nullopt);
}

TEST_CASE("a clutch that is 'in' may be pressed or engaged, so it is not guessed") {
  CHECK(is_loaded(test_of("clutch"), "in") == std::nullopt);
  CHECK(is_loaded(test_of("clutch"), "out") == std::nullopt);
  CHECK(is_loaded(test_of("clutch"), "pressed") == true);
}

TEST_CASE("load tests in the workshop warn of noise, exhaust and turning parts") {
  // NIOSH: 85 dB(A) for 8 h, half the time for every 3 dB more, 480 min / 2^((L − 85)/3): 100 dB(A)
  // for 15 min. Carbon monoxide: OSHA's 50 ppm over 8 h, NIOSH's 35 (weak source), hence outside.
  CHECK(480.0 / std::pow(2.0, (100.0 - 85.0) / 3.0) == doctest::Approx(15.0));
  for (const LoadTest& test : load_tests()) {
    CAPTURE(test.key);
    if (test.vehicle_moves) continue;
    CHECK(warns(test, "85 dB(A) is the limit for eight hours, 100 dB(A) for a quarter of"));
    CHECK(warns(test, "exhaust out of the building"));
    CHECK(warns(test, "hands, hair, sleeves, the probe and its cable away from belts"));
  }
}

TEST_CASE("load tests keep within the limits of makers' manuals") {
  // Makers' manuals: steering at its stop no longer than 10 s, in practice 5 s; no belt, 30 s at
  // most; a stall test is never asked for.
  CHECK(test_of("steering").how.find("5 s at most") != std::string::npos);
  CHECK(test_of("belt").how.find("30 s at most") != std::string::npos);
  CHECK(warns(test_of("belt"), "key out"));
  CHECK(warns(test_of("belt"), "water pump does not turn"));
  CHECK(warns(test_of("belt"), "not charged"));
  CHECK(warns(test_of("selector"), "Chock the wheels"));
  CHECK(warns(test_of("selector"), "no stall test"));
  CHECK(warns(test_of("coast"), "a second one records"));
  for (const LoadTest& test : load_tests())
    CHECK(test.vehicle_moves == (test.key == "coast" || test.key == "standing"));
}

TEST_CASE("whoever records while the vehicle is driven is told what a driver must not do") {
  CHECK(recording_cautions({}, std::nullopt).empty());
  CHECK(recording_cautions({{"ac", "on"}}, 0.0).empty());
  CHECK(recording_cautions({{"gear", "3"}}, 0.0).empty());  // in gear on a lift that is at rest
  CHECK(recording_cautions({{"standing", "at rest"}}, std::nullopt).empty());
  for (const auto& [load, kmh] :
       {std::pair<LoadState, std::optional<double>>{{}, 60.0},
        std::pair<LoadState, std::optional<double>>{{{"gear", "3"}}, std::nullopt},
        std::pair<LoadState, std::optional<double>>{{{"standing", "rolling"}}, std::nullopt},
        std::pair<LoadState, std::optional<double>>{{{"coast", "coasting"}}, std::nullopt}}) {
    CHECK(recording_cautions(load, kmh) == road_cautions());
  }
  std::string all;
  for (const std::string& caution : road_cautions()) all += caution + ". ";
  for (const char* words : {"road law", "does not touch the computer", "a second one records",
                            "Fix the probe and its cable before setting off", "wheels",
                            "nobody reaches under the vehicle"})
    CHECK(all.find(words) != std::string::npos);
  for (const LoadTest& test : load_tests()) {
    if (!test.vehicle_moves) continue;
    for (const std::string& caution : road_cautions()) CHECK(warns(test, caution.c_str()));
  }
}
