#include "src/analysis/speed_check.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <span>
#include <vector>

#include "dsp/synth.h"
#include "src/handover/tables.h"

using namespace howl;

namespace {

constexpr double kRate = 8000.0;
constexpr double kSeconds = 12.0;

/// A six-cylinder engine in some noise, at the speed that was written down or at another.
TakeAudio engine_take(const std::vector<float>& samples, const SpeedCurve& written) {
  TakeAudio take;
  take.id = "t01";
  take.sample_rate = kRate;
  take.seconds = kSeconds;
  take.speed = written;
  take.speed_source = "entered";
  take.stream = [&samples](const auto& hear) { hear(std::span<const float>(samples)); };
  return take;
}

std::vector<float> engine_sound(const SpeedCurve& speed) {
  Random random(11);
  const auto count = static_cast<std::size_t>(kSeconds * kRate);
  std::vector<float> samples(count, 0.0F);
  Combustion engine;
  engine.cylinders = 6;
  engine.amplitude = 0.1;
  synth_family(samples, crank_turns(speed, count, kRate), combustion_family(engine, random));
  synth_add(samples, synth_pink(count, kRate, 0.03, random));
  return samples;
}

const handover::DataTable& heard_speed_of(const std::vector<handover::DataTable>& tables) {
  const auto found = std::ranges::find(tables, "heard_speed", &handover::DataTable::name);
  REQUIRE(found != tables.end());
  return *found;
}

}  // namespace

TEST_CASE("speed check: the speed by the sound at every moment, with its interval") {
  const std::array<SpeedPoint, 2> ends{
      {{Seconds(0.0), Rpm(900.0)}, {Seconds(kSeconds), Rpm(3600.0)}}};
  const SpeedCurve truth = SpeedCurve::through(ends, 0.001);
  const std::vector<float> samples = engine_sound(truth);
  TakeAudio take = engine_take(samples, truth);
  TakeResult result;
  result.id = take.id;
  result.sound_speed = check_speed(take, 6, result.warnings);
  CHECK(result.warnings.empty());

  const std::vector<SoundSpeed::Moment>& track = result.sound_speed.track;
  REQUIRE(track.size() > 60);  // eight a second, but for the ends
  const auto held = std::ranges::count_if(track, [&](const SoundSpeed::Moment& moment) {
    return moment.ci95.contains(truth.at(Seconds(moment.time_s)).value);
  });
  // 95 of 100 are what the interval says; neighbours are heard in the same sound, hence the room.
  CHECK(static_cast<double>(held) >= 0.85 * static_cast<double>(track.size()));

  Analysis analysis;
  analysis.takes.push_back(result);
  const std::vector<handover::DataTable> tables = handover::tables_of(Case{}, analysis);
  CHECK(heard_speed_of(tables).rows.size() == track.size());
}

TEST_CASE("speed check: where the sound settles no speed there is none at any moment") {
  Random random(12);
  const std::vector<float> noise =
      synth_pink(static_cast<std::size_t>(kSeconds * kRate), kRate, 0.1, random);
  TakeAudio take = engine_take(noise, SpeedCurve::constant(Rpm(1800.0), 0.005));
  TakeResult result;
  result.sound_speed = check_speed(take, 6, result.warnings);
  CHECK(!result.sound_speed.rpm);
  CHECK(result.sound_speed.track.empty());
}
