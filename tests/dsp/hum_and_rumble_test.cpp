#include "dsp/hum_and_rumble.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "dsp/decimator.h"
#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 16000.0;
constexpr std::size_t kCount = 128000;  // 8 s

std::vector<float> noise(double rms = 0.01) {
  Random random(11);
  return synth_pink(kCount, kRate, rms, random);
}

/// Lines 1, 2, 3 and 5 of a base.
void add_lines(std::vector<float>& x, double base, double amplitude) {
  const std::vector<double> turns = phase_turns(std::vector<double>(x.size(), base), kRate);
  synth_family(x, turns,
               {.cycles_per_turn = 1.0,
                .harmonics = {{amplitude, 0.0},
                              {0.5 * amplitude, 1.0},
                              {0.5 * amplitude, 2.0},
                              {},
                              {0.2 * amplitude, 3.0}},
                .modulation = {}});
}

HumAndRumble find(const std::vector<float>& x, std::optional<SpeedCurve> speed) {
  HumAndRumbleFinder finder(kRate, std::move(speed));
  finder.push(x);
  return finder.finish();
}

SpeedCurve at(double rpm) { return SpeedCurve::constant(Rpm(rpm), 0.003); }

}  // namespace

TEST_CASE("hum: 50 and 60 Hz are told apart, with their power") {
  for (const double mains : {50.0, 60.0}) {
    std::vector<float> x = noise();
    add_lines(x, mains * 1.0007, 0.02);
    const HumAndRumble found = find(x, at(1130.0));
    REQUIRE(found.hum);
    CHECK(found.hum->mains_hz == mains);
    CHECK_FALSE(found.hum->may_be_engine);
    // 0.02²/2 · (1 + 1/4 + 1/4 + 1/25)
    CHECK(found.hum->power == doctest::Approx(3.08e-4).epsilon(0.1));
  }
}

TEST_CASE("hum: at 1500 rpm half orders fall on 50 Hz, at 1800 on 60 Hz") {
  for (const auto& [mains, rpm] : {std::pair{50.0, 1500.0}, std::pair{60.0, 1800.0}}) {
    std::vector<float> x = noise();
    add_lines(x, mains, 0.02);
    const HumAndRumble found = find(x, at(rpm));
    REQUIRE(found.hum);
    CHECK(found.hum->may_be_engine);
    CHECK(found.hum->mains_hz == mains);
  }
}

TEST_CASE("hum: a howl on a multiple of a faint line is no hum") {
  std::vector<float> x = noise();
  synth_add(x, synth_tone(std::vector<double>(kCount, 50.0), kRate, 0.01));
  synth_add(x, synth_tone(std::vector<double>(kCount, 300.0), kRate, 0.1));
  CHECK_FALSE(find(x, at(1130.0)).hum);
  // With a second line of its own it is hum, of their power alone: 0.01²/2 · (1 + 1/4).
  synth_add(x, synth_tone(std::vector<double>(kCount, 100.0), kRate, 0.005));
  const HumAndRumble found = find(x, at(1130.0));
  REQUIRE(found.hum);
  CHECK(found.hum->power == doctest::Approx(6.25e-5).epsilon(0.1));
}

TEST_CASE("hum: with the engine off nothing else stands there") {
  std::vector<float> x = noise();
  add_lines(x, 50.0, 0.02);
  const HumAndRumble found = find(x, std::nullopt);
  REQUIRE(found.hum);
  CHECK_FALSE(found.hum->may_be_engine);
}

TEST_CASE("hum: an engine that wanders about 1500 rpm is none") {
  Random random(2);
  const SpeedCurve wanders = synth_jittered_speed(at(1500.0), Seconds(8.0), 0.002, random);
  std::vector<float> x = noise();
  synth_family(x, crank_turns(wanders, kCount, kRate),
               {.cycles_per_turn = 2.0,
                .harmonics = {{0.05, 0.0}, {0.03, 1.0}, {0.02, 2.0}},
                .modulation = {}});
  CHECK_FALSE(find(x, at(1500.0)).hum);
}

TEST_CASE("hum: found in a sweep, whose orders only pass") {
  const std::vector<SpeedPoint> ends{{Seconds(0.0), Rpm(900.0)}, {Seconds(8.0), Rpm(2500.0)}};
  const SpeedCurve sweep = SpeedCurve::through(ends, 0.01);
  std::vector<float> x = noise();
  synth_family(x, crank_turns(sweep, kCount, kRate),
               {.cycles_per_turn = 2.0, .harmonics = {{0.03, 0.0}, {0.02, 1.0}}, .modulation = {}});
  CHECK_FALSE(find(x, sweep).hum);
  add_lines(x, 50.0, 0.02);
  const HumAndRumble found = find(x, sweep);
  REQUIRE(found.hum);
  CHECK_FALSE(found.hum->may_be_engine);
}

TEST_CASE("hum: one line alone, lines of another base, and noise are none") {
  CHECK_FALSE(find(noise(), at(1130.0)).hum);
  std::vector<float> x = noise();
  synth_add(x, synth_tone(std::vector<double>(kCount, 100.0), kRate, 0.05));
  CHECK_FALSE(find(x, at(1130.0)).hum);
  std::vector<float> y = noise();
  add_lines(y, 50.6, 0.02);
  CHECK_FALSE(find(y, at(1130.0)).hum);
}

TEST_CASE("rumble: shaking outweighs the rest; idling combustion of the same strength does not") {
  Random random(4);
  std::vector<float> shaking = synth_noise(kCount, 1.0, random);
  synth_resonance(shaking, kRate, Hertz(8.0), 0.7);
  std::vector<float> x = noise();
  synth_add(x, shaking, 3.0);
  const HumAndRumble found = find(x, at(820.0));
  CHECK(covered(found.rumble) > 0.7 * found.seconds);

  std::vector<float> idle = noise();
  synth_family(idle, crank_turns(at(820.0), kCount, kRate),
               {.cycles_per_turn = 0.5,
                .harmonics = {{0.02, 0.0}, {0.02, 1.0}, {0.1, 2.0}, {0.3, 0.0}},
                .modulation = {}});
  CHECK(find(idle, at(823.0)).rumble.empty());
  CHECK(covered(find(x, std::nullopt).rumble) > 0.7 * found.seconds);
}

TEST_CASE("hum and rumble: nothing is said of less than two blocks") {
  std::vector<float> x = noise();
  add_lines(x, 50.0, 0.05);
  x.resize(32000);
  CHECK_FALSE(find(x, at(1130.0)).hum);
  CHECK(find(x, at(1130.0)).seconds == 0.0);
}

TEST_CASE("decimator: what is below passes, what would fold is gone, chunks do not matter") {
  constexpr std::size_t factor = 16;  // to 1000 Hz
  const auto level = [&](double hertz) {
    std::vector<float> out;
    Decimator decimator(factor);
    const std::vector<float> in = synth_tone(std::vector<double>(32000, hertz), kRate, 1.0);
    for (std::size_t i = 0; i < in.size(); i += 1013)
      decimator.push(std::span(in).subspan(i, std::min<std::size_t>(1013, in.size() - i)), out);
    std::vector<float> whole;
    Decimator(factor).push(in, whole);
    CHECK(out == whole);
    double sum = 0.0;
    for (std::size_t i = 100; i < out.size(); ++i)
      sum += static_cast<double>(out[i]) * static_cast<double>(out[i]);
    return 10.0 * std::log10(2.0 * sum / static_cast<double>(out.size() - 100));
  };
  CHECK(std::abs(level(50.0)) < 0.02);
  CHECK(std::abs(level(350.0)) < 0.1);
  CHECK(level(650.0) < -70.0);  // would fold to 350 Hz
  CHECK(level(1013.0) < -70.0);
}
