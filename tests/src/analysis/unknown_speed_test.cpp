#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <memory>
#include <string>
#include <vector>

#include "src/analysis/impacts.h"
#include "src/analysis/quality.h"
#include "src/analysis/speed_check.h"
#include "src/analysis/take_survey.h"
#include "tests/src/analysis/impact_scene.h"
#include "tests/src/analysis/synth_takes.h"

using namespace howl;
using namespace howl::test;

namespace {

std::vector<float> samples_of(const TakeAudio& take) {
  std::vector<float> all;
  take.stream(
      [&](std::span<const float> chunk) { all.insert(all.end(), chunk.begin(), chunk.end()); });
  return all;
}

/// An engine at a steady speed that something strikes during the first `seconds` only.
TakeAudio struck_at_first(double seconds, std::uint64_t seed) {
  ImpactScene scene{.seconds = 12.0};
  TakeAudio take = impact_take(scene, seed);
  std::vector<float> samples = samples_of(take);
  scene.strike_order = 3.37;
  scene.strike_db = 6.0;
  const std::vector<float> struck = samples_of(impact_take(scene, seed));
  std::copy_n(struck.begin(), static_cast<std::ptrdiff_t>(seconds * take.sample_rate),
              samples.begin());
  const auto held = std::make_shared<std::vector<float>>(std::move(samples));
  take.stream = [held](const auto& to) { to(std::span<const float>(*held)); };
  return take;
}

/// Order 10 of a sweep from 900 to 2700 rpm in 12 s, whose log begins `late` s after it.
TakeAudio logged_late(double late) {
  constexpr std::size_t samples = 96'000;
  const SpeedCurve truth = SpeedCurve::through(
      std::vector<SpeedPoint>{{Seconds(0.0), Rpm(900.0)}, {Seconds(12.0), Rpm(2700.0)}}, 0.003);
  const auto howl = synth_order(truth, Order(10.0), samples, kTakeRate, amplitude_of(-30.0));
  TakeAudio take = hold_of("t01", "a", with(hiss(samples, -60.0, 1), howl));
  take.speed = SpeedCurve::through(std::vector<SpeedPoint>{{Seconds(late), truth.at(Seconds(late))},
                                                           {Seconds(12.0), Rpm(2700.0)}},
                                   0.003);
  take.speed_source = "logged";
  take.speed_known = {{late, 12.0}};
  return take;
}

}  // namespace

TEST_CASE("blows where the speed is not known are not told, as their order is not known") {
  TakeAudio take = struck_at_first(6.0, 5);
  heed_quality(take);
  REQUIRE(!survey_strikes(take, 0).empty());
  take.speed_known = {{6.0, 12.0}};
  heed_quality(take);
  CHECK(survey_strikes(take, 0).empty());
}

TEST_CASE("blows are told where too little is left to look for them as none") {
  TakeAudio take = struck_at_first(12.0, 5);
  take.speed_known = {{10.5, 12.0}};  // 37 revolutions
  heed_quality(take);
  CHECK(survey_strikes(take, 0).empty());
}

TEST_CASE("a tone is not followed where the speed is not known") {
  TakeAudio take = logged_late(3.0);
  heed_quality(take);
  REQUIRE(take.left_out.size() == 1);
  CHECK(take.left_out.front().high == 3.0);
  double first = take.seconds;
  for (const Sighting& sighting : survey_take(take, 0).sightings)
    for (const PitchPoint& point : sighting.points) first = std::min(first, point.time);
  CHECK(first >= 3.0);
  CHECK(first < 4.0);
}

TEST_CASE("a hold's mean speed is that of the time in which it is known") {
  // 1760 to 1840 rpm in 10 s, then 10 s that the log does not cover: held there, the mean would be
  // 1820.
  constexpr std::size_t samples = 160'000;
  TakeAudio take = hold_of("t01", "a", with(hiss(samples, -60.0, 1), tone(samples, 300.0, -30.0)));
  take.speed = SpeedCurve::through(
      std::vector<SpeedPoint>{{Seconds(0.0), Rpm(1760.0)}, {Seconds(10.0), Rpm(1840.0)}}, 0.003);
  take.speed_source = "logged";
  take.speed_known = {{0.0, 10.0}};
  heed_quality(take);
  const std::vector<Sighting> sightings = survey_take(take, 0).sightings;
  REQUIRE(!sightings.empty());
  CHECK(sightings.front().points.front().rpm == doctest::Approx(1800.0).epsilon(0.001));
}

TEST_CASE("a log that is shifted to the sound leaves what it does not reach any more unknown") {
  constexpr std::size_t samples = 160'000;  // 20 s
  const SpeedCurve truth =
      SpeedCurve::through(std::vector<SpeedPoint>{{Seconds(0.0), Rpm(900.0)},
                                                  {Seconds(5.0), Rpm(900.0)},
                                                  {Seconds(14.0), Rpm(2600.0)},
                                                  {Seconds(20.0), Rpm(2600.0)}},
                          0.003);
  Random random(11);
  std::vector<float> sound(samples);
  synth_family(sound, crank_turns(truth, samples, kTakeRate),
               combustion_family({.cylinders = 4, .amplitude = 0.1}, random));
  TakeAudio take = hold_of("t01", "a", with(sound, hiss(samples, -50.0, 3)));
  take.speed = truth.later(Seconds(1.2));
  take.speed_source = "logged";
  take.speed_known = {{0.0, 20.0}};
  std::vector<std::string> warnings;
  align_log(take, warnings);
  REQUIRE(take.lag_taken_out);
  CHECK(*take.lag_taken_out == doctest::Approx(1.2).epsilon(0.05));
  const TimeSpans unknown = without_speed(take);
  REQUIRE(unknown.size() == 1);
  CHECK(unknown.front().low == doctest::Approx(18.8).epsilon(0.01));
  CHECK(unknown.front().high == 20.0);
  CHECK(warned(warnings, "it says no speed from 18.8 to 20.0 s, which are left out"));
}
