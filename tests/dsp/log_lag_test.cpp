#include "dsp/log_lag.h"

#include <doctest/doctest.h>

#include <vector>

#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 4096.0;
constexpr double kSeconds = 20.0;

/// Revs up, holds, lets go: what a foot does.
SpeedCurve blips() {
  const std::vector<SpeedPoint> points{{Seconds(-5.0), Rpm(900.0)},  {Seconds(2.0), Rpm(900.0)},
                                       {Seconds(8.0), Rpm(2800.0)},  {Seconds(11.0), Rpm(2700.0)},
                                       {Seconds(16.0), Rpm(1200.0)}, {Seconds(25.0), Rpm(1100.0)}};
  return SpeedCurve::through(points, 0.003);
}

std::vector<float> sound_of(const SpeedCurve& speed, double noise_rms, std::uint64_t seed) {
  Random random(seed);
  const auto count = static_cast<std::size_t>(kSeconds * kRate);
  std::vector<float> samples(count, 0.0F);
  synth_family(samples, crank_turns(speed, count, kRate),
               combustion_family({.amplitude = 0.1}, random));
  synth_add(samples, synth_pink(count, kRate, noise_rms, random));
  return samples;
}

}  // namespace

TEST_CASE("log lag: a log that runs late or early is found within its own error") {
  for (const double late : {-1.6, 0.0, 0.45, 2.1}) {
    CAPTURE(late);
    const LogLag found =
        find_log_lag(sound_of(blips(), 0.03, 7), kRate, blips().later(Seconds(late)), {});
    REQUIRE(found.doubt == LagDoubt::none);
    CHECK(std::abs(found.lag.value - late) < 0.05);
    CHECK(found.sigma.value < 0.1);
  }
}

TEST_CASE("log lag: where shifting changes nothing, or nothing turns, there is no answer") {
  const SpeedCurve steady = SpeedCurve::constant(Rpm(1800.0), 0.003);
  CHECK(find_log_lag(sound_of(steady, 0.03, 8), kRate, steady, {}).doubt == LagDoubt::steady);
  Random random(9);
  const std::vector<float> noise =
      synth_pink(static_cast<std::size_t>(kSeconds * kRate), kRate, 0.1, random);
  CHECK(find_log_lag(noise, kRate, blips(), {}).doubt == LagDoubt::not_sharp);
  CHECK(find_log_lag(std::span(noise).first(8192), kRate, blips(), {}).doubt ==
        LagDoubt::too_short);
}
