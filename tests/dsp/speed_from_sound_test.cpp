#include "dsp/speed_from_sound.h"

#include <doctest/doctest.h>

#include <cmath>
#include <span>
#include <vector>

#include "dsp/speed_path.h"
#include "dsp/speed_votes.h"
#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 8000.0;

SampleSource source_of(const std::vector<float>& samples, std::size_t chunk = 4096) {
  return [&samples, chunk](const auto& hear) {
    for (std::size_t at = 0; at < samples.size(); at += chunk)
      hear(std::span(samples).subspan(at, std::min(chunk, samples.size() - at)));
  };
}

std::vector<float> engine_sound(const SpeedCurve& speed, double seconds, int cylinders,
                                double noise_rms, std::uint64_t seed) {
  Random random(seed);
  const auto count = static_cast<std::size_t>(seconds * kRate);
  std::vector<float> samples(count, 0.0F);
  Combustion engine;
  engine.cylinders = cylinders;
  engine.amplitude = 0.1;
  synth_family(samples, crank_turns(speed, count, kRate), combustion_family(engine, random));
  synth_add(samples, synth_pink(count, kRate, noise_rms, random));
  return samples;
}

SpeedFromSound hear(const std::vector<float>& samples, std::optional<int> cylinders) {
  SpeedFromSoundParameters parameters;
  parameters.cylinders = cylinders;
  return speed_from_sound(source_of(samples), kRate, parameters);
}

}  // namespace

TEST_CASE("speed from sound: an engine at a steady 1800 rpm") {
  const SpeedCurve speed = SpeedCurve::constant(Rpm(1800.0), 0.0);
  const SpeedFromSound found = hear(engine_sound(speed, 6.0, 4, 0.03, 1), 4);
  REQUIRE(found.known() != nullptr);
  CHECK(found.known()->mean.value == doctest::Approx(1800.0).epsilon(0.002));
  CHECK(found.known()->mean_ci95.contains(1800.0));
}

TEST_CASE("speed from sound: a sweep is followed through time") {
  const std::vector<SpeedPoint> points{{Seconds(0.0), Rpm(900.0)}, {Seconds(12.0), Rpm(3600.0)}};
  const SpeedCurve speed = SpeedCurve::through(points, 0.0);
  const SpeedFromSound found = hear(engine_sound(speed, 12.0, 6, 0.03, 2), 6);
  REQUIRE(found.known() != nullptr);
  for (const HeardSpeed& h : found.known()->track)
    CHECK(h.speed.value == doctest::Approx(speed.at(h.time).value).epsilon(0.012));
}

TEST_CASE("speed from sound: a believed speed that is twice the true one does not win") {
  const SpeedCurve speed = SpeedCurve::constant(Rpm(1500.0), 0.0);
  SpeedFromSoundParameters parameters;
  parameters.cylinders = 4;
  parameters.near = {SpeedCurve::constant(Rpm(3000.0), 0.005), 0.015};
  const std::vector<float> samples = engine_sound(speed, 8.0, 4, 0.02, 3);
  const SpeedFromSound found = speed_from_sound(source_of(samples), kRate, parameters);
  REQUIRE(!found.hypotheses.empty());
  const bool claims_double = found.known() != nullptr && found.known()->mean.value > 2900.0;
  CHECK(!claims_double);
}

TEST_CASE("speed from sound: a believed speed beyond what is searched is not looked for there") {
  const SpeedCurve speed = SpeedCurve::constant(Rpm(1800.0), 0.0);
  const std::vector<float> samples = engine_sound(speed, 6.0, 4, 0.03, 1);
  for (const double believed : {1.8, 250.0, 12'000.0, 25'000.0}) {
    CAPTURE(believed);
    SpeedFromSoundParameters parameters;
    parameters.cylinders = 4;
    parameters.near = {SpeedCurve::constant(Rpm(believed), 0.005), 0.015};
    const SpeedFromSound found = speed_from_sound(source_of(samples), kRate, parameters);
    REQUIRE(found.known() != nullptr);
    CHECK(found.known()->mean.value == doctest::Approx(1800.0).epsilon(0.002));
  }
}

TEST_CASE("speed from sound: noise and single tones are no engine") {
  Random random(4);
  std::vector<float> noise = synth_pink(static_cast<std::size_t>(10.0 * kRate), kRate, 0.1, random);
  CHECK(hear(noise, 4).known() == nullptr);
  const std::vector<double> pitch(noise.size(), 733.0);
  synth_add(noise, synth_tone(pitch, kRate, 0.3));
  CHECK(hear(noise, 4).known() == nullptr);
  CHECK(hear(noise, std::nullopt).known() == nullptr);
}

TEST_CASE("speed from sound: a loop of a second is too short, silence and nothing are no engine") {
  const SpeedCurve speed = SpeedCurve::constant(Rpm(2000.0), 0.0);
  const SpeedFromSound loop = hear(engine_sound(speed, 1.0, 4, 0.01, 5), 4);
  CHECK(loop.known() == nullptr);
  CHECK(loop.too_short);
  CHECK(hear(std::vector<float>(80'000, 0.0F), 4).known() == nullptr);
  CHECK(hear({}, 4).too_short);
}

TEST_CASE("speed from sound: the chunks that the sound comes in do not matter") {
  const SpeedCurve speed = SpeedCurve::constant(Rpm(2200.0), 0.0);
  const std::vector<float> samples = engine_sound(speed, 4.0, 4, 0.03, 6);
  SpeedFromSoundParameters parameters;
  parameters.cylinders = 4;
  const SpeedFromSound a = speed_from_sound(source_of(samples, 777), kRate, parameters);
  const SpeedFromSound b = speed_from_sound(source_of(samples, 32'000), kRate, parameters);
  REQUIRE(a.hypotheses.size() == b.hypotheses.size());
  CHECK(a.hypotheses.front().mean.value == doctest::Approx(b.hypotheses.front().mean.value));
  CHECK(a.hypotheses.front().probability == doctest::Approx(b.hypotheses.front().probability));
}

TEST_CASE("speed from sound: a course that leaves the engine on its way may have leapt") {
  SpeedVotes votes;
  votes.grid = SpeedGrid::over({600.0, 4000.0});
  votes.moments = 80;
  // A byte of 96 stands for a vote of 8, one of 64 for none (speed_votes.cpp).
  votes.packed.assign(votes.moments * votes.grid.count, 96);
  votes.packed_rate.assign(votes.packed.size(), 6);
  SpeedPath path;
  for (std::size_t m = 0; m < votes.moments; ++m)
    path.places.push_back(votes.grid.place(900.0 + 20.0 * static_cast<double>(m)));
  REQUIRE(votes.vote(0, 0) == 8.0);
  CHECK_FALSE(may_have_leapt(votes, path));
  for (std::size_t m = 30; m < 45; ++m)
    for (std::size_t i = 0; i < votes.grid.count; ++i) votes.packed[m * votes.grid.count + i] = 64;
  CHECK(may_have_leapt(votes, path));
  // A hold has nowhere to leap to.
  for (double& place : path.places) place = path.places.front();
  CHECK_FALSE(may_have_leapt(votes, path));
}
