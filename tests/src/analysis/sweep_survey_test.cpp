#include "src/analysis/sweep_survey.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string_view>
#include <vector>

#include "src/analysis/analyse.h"
#include "src/analysis/quality.h"
#include "tests/src/analysis/synth_takes.h"

using namespace howl;
using namespace howl::test;

namespace {

using Speeds = std::vector<SpeedPoint>;

/// Four cylinders that are not quite alike: half orders from 0.5 to 20, and a howl at order 10.3.
std::vector<float> engine_with_howl(const SpeedCurve& speed, std::size_t samples) {
  Random random(1);
  std::uniform_real_distribution<double> below_db(6.0, 20.0);
  std::vector<float> sound = hiss(samples, -50.0, 1);
  for (int k = 1; k <= 40; ++k) {
    const double level_db = -20.0 - 18.0 * std::log10(k) - (k % 4 == 0 ? 0.0 : below_db(random));
    synth_add(sound, synth_order(speed, Order(0.5 * k), samples, kTakeRate, amplitude_of(level_db),
                                 0.7 * k * k));
  }
  synth_add(sound, synth_order(speed, Order(10.3), samples, kTakeRate, 0.02));
  return sound;
}

/// The tones that seem to go their own way in one sweep whose log says the speed during `known`.
std::vector<ToneResult> unlocked_in(const Speeds& speeds, const Interval& known) {
  constexpr std::size_t samples = 160'000;  // 20 s
  const SpeedCurve truth = SpeedCurve::through(speeds, 0.003);
  TakeAudio take = hold_of("t01", "a", engine_with_howl(truth, samples));
  Speeds logged;
  for (double t = known.low; t <= known.high; t += 0.1)
    logged.push_back({Seconds(t), truth.at(Seconds(t))});
  take.speed = SpeedCurve::through(logged, 0.003);
  take.speed_source = "logged";
  take.speed_known = {known};
  take.lag_sigma = 0.02;
  heed_quality(take);
  std::vector<ToneResult> tones =
      analyse_takes({take}, 4, {}, [](double, std::string_view) {}).tones;
  std::erase_if(tones, [](const ToneResult& t) { return t.behaviour != Behaviour::unlocked; });
  return tones;
}

}  // namespace

TEST_CASE("the lines of an engine whose speed begins to change do not seem to go their own way") {
  const Speeds up{
      {Seconds(0.0), Rpm(900.0)}, {Seconds(6.0), Rpm(900.0)}, {Seconds(20.0), Rpm(2600.0)}};
  const Speeds up_and_down{{Seconds(0.0), Rpm(900.0)},
                           {Seconds(4.0), Rpm(900.0)},
                           {Seconds(10.0), Rpm(2600.0)},
                           {Seconds(16.0), Rpm(900.0)},
                           {Seconds(20.0), Rpm(900.0)}};
  CHECK(unlocked_in(up, {0.0, 20.0}).empty());
  CHECK(unlocked_in(up, {0.0, 18.8}).empty());
  CHECK(unlocked_in(up_and_down, {0.0, 20.0}).empty());
  CHECK(unlocked_in(up_and_down, {0.0, 18.8}).empty());
}
