#include "dsp/tacho.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/statistics.h"

using namespace howl;

namespace {

constexpr double rate = 48000.0;

/// Times at which `speed` has turned by each 1/pulses_per_revolution, from 0.05 s on.
std::vector<double> tooth_times(const SpeedCurve& speed, double seconds, double per_revolution) {
  std::vector<double> times;
  const double start = speed.revolutions_at(Seconds(0.05));
  for (int k = 0;; ++k) {
    const double t = speed.time_at(start + k / per_revolution).value;
    if (t > seconds - 0.01) return times;
    times.push_back(t);
  }
}

/// Pulses of Gaussian shape, 0.4 ms wide at half height or a third of the spacing.
std::vector<float> pulse_train(const std::vector<double>& times, double seconds, double height,
                               double sample_rate = rate) {
  double narrowest = 1.0;
  for (std::size_t i = 1; i < times.size(); ++i)
    narrowest = std::min(narrowest, times[i] - times[i - 1]);
  const double sigma = std::min(0.4e-3, narrowest / 3.0) / 2.355;
  std::vector<float> samples(static_cast<std::size_t>(seconds * sample_rate));
  for (const double t : times) {
    const auto first = static_cast<long>((t - 5.0 * sigma) * sample_rate);
    const auto last = static_cast<long>((t + 5.0 * sigma) * sample_rate);
    for (long i = std::max(0L, first); i <= last && i < static_cast<long>(samples.size()); ++i) {
      const double d = (static_cast<double>(i) / sample_rate - t) / sigma;
      samples[static_cast<std::size_t>(i)] += static_cast<float>(height * std::exp(-0.5 * d * d));
    }
  }
  return samples;
}

SamplePlayer player_of(const std::vector<float>& samples, std::size_t chunk = 4096) {
  return [&samples, chunk](const std::function<void(std::span<const float>)>& hear) {
    for (std::size_t i = 0; i < samples.size(); i += chunk)
      hear(std::span(samples).subspan(i, std::min(chunk, samples.size() - i)));
  };
}

TachoReading reading_of(const std::vector<float>& samples, double per_revolution,
                        double sample_rate = rate) {
  const auto outcome = read_tacho(player_of(samples), {sample_rate, per_revolution});
  if (const auto* failure = std::get_if<TachoFailure>(&outcome)) {
    CAPTURE(static_cast<int>(failure->reason));
    CAPTURE(failure->percent);
    CAPTURE(failure->at.value);
    FAIL("no reading");
  }
  return std::get<TachoReading>(outcome);
}

TachoFailure failure_of(const std::vector<float>& samples, double per_revolution) {
  const auto outcome = read_tacho(player_of(samples), {rate, per_revolution});
  REQUIRE(std::holds_alternative<TachoFailure>(outcome));
  return std::get<TachoFailure>(outcome);
}

struct SpeedError {
  double largest{};
  double rms{};
};

/// Relative error of the speed between the first and the last angle.
SpeedError speed_error(const TachoReading& reading, const SpeedCurve& truth) {
  const SpeedCurve found = SpeedCurve::through_angles(reading.angles, 0.0005);
  const double from = reading.angles.front().time.value;
  const double to = reading.angles.back().time.value;
  SpeedError error;
  constexpr int steps = 2000;
  for (int i = 0; i <= steps; ++i) {
    const Seconds t(from + (to - from) * i / steps);
    const double relative = std::abs(found.at(t) / truth.at(t) - 1.0);
    error.largest = std::max(error.largest, relative);
    error.rms += relative * relative / (steps + 1);
  }
  error.rms = std::sqrt(error.rms);
  return error;
}

SpeedCurve sweep(double seconds) {
  const std::vector<SpeedPoint> points{{0.0_s, 800.0_rpm}, {Seconds(seconds), 3000.0_rpm}};
  return SpeedCurve::through(points, 0.0);
}

void add_noise(std::vector<float>& samples, double rms) {
  Random random(7);
  for (float& sample : samples) sample += static_cast<float>(rms * draw_normal(random));
}

}  // namespace

TEST_CASE("steady speed: 1, 2, 36 and 0.5 pulses a revolution give the speed within 0.01 %") {
  const SpeedCurve truth = SpeedCurve::constant(1726.0_rpm, 0.0);
  for (const double per_revolution : {0.5, 1.0, 2.0, 36.0}) {
    CAPTURE(per_revolution);
    const auto times = tooth_times(truth, 5.0, per_revolution);
    const auto reading = reading_of(pulse_train(times, 5.0, 0.7), per_revolution);
    CHECK(reading.pulses == times.size());
    CHECK(reading.rising);
    CHECK(reading.missing.empty());
    CHECK(reading.extra.empty());
    CHECK(reading.misfits.empty());
    CHECK(speed_error(reading, truth).largest < 1e-4);
  }
}

TEST_CASE("a sweep from 800 to 3000 rpm in 6 s is followed within 0.05 %") {
  const SpeedCurve truth = sweep(6.0);
  for (const double per_revolution : {1.0, 2.0, 36.0, 60.0}) {
    CAPTURE(per_revolution);
    const auto reading =
        reading_of(pulse_train(tooth_times(truth, 6.0, per_revolution), 6.0, 0.7), per_revolution);
    CHECK(speed_error(reading, truth).largest < 5e-4);
  }
}

TEST_CASE("a jittered sweep with noise: pulse times shake by 0.1 % of a period") {
  const SpeedCurve truth = sweep(6.0);
  auto times = tooth_times(truth, 6.0, 1.0);
  Random random(3);
  for (std::size_t i = 0; i < times.size(); ++i)
    times[i] += 0.001 * 60.0 / truth.at(Seconds(times[i])).value * draw_normal(random);
  auto samples = pulse_train(times, 6.0, 0.5);
  add_noise(samples, 0.01);  // −34 dB re the pulse's height
  const auto reading = reading_of(samples, 1.0);
  CHECK(reading.pulses == times.size());
  // With e the shake of pulse i in periods, the parabola's speed at a pulse is off by
  // (e[i+1] - e[i-1])/2, 0.07 % rms; midway the spline's is off by 1.375 (e[i+1] - e[i])
  // + 0.125 (e[i-1] - e[i+2]), 0.195 % rms, so that the whole lies between.
  CHECK(speed_error(reading, truth).rms > 0.0007);
  CHECK(speed_error(reading, truth).rms < 0.00195);
}

TEST_CASE("falling pulses on an offset, and an inductive pick-up, whose pulses grow with speed") {
  const SpeedCurve truth = sweep(6.0);
  const auto times = tooth_times(truth, 6.0, 1.0);
  auto samples = pulse_train(times, 6.0, -0.4);
  for (float& sample : samples) sample += 0.3F;
  const auto falling = reading_of(samples, 1.0);
  CHECK_FALSE(falling.rising);
  CHECK(speed_error(falling, truth).largest < 5e-4);

  auto growing = pulse_train(times, 6.0, 1.0);
  for (std::size_t i = 0; i < growing.size(); ++i)
    growing[i] *=
        static_cast<float>(truth.at(Seconds(static_cast<double>(i) / rate)).value / 4000.0);
  const auto reading = reading_of(growing, 1.0);
  CHECK(reading.pulses == times.size());
  CHECK(speed_error(reading, truth).largest < 5e-4);
}

TEST_CASE("a square wave works as well as narrow pulses") {
  const SpeedCurve truth = SpeedCurve::constant(1500.0_rpm, 0.0);  // 25 Hz: edges every 960 samples
  std::vector<float> samples(static_cast<std::size_t>(4.0 * rate));
  for (std::size_t i = 0; i < samples.size(); ++i) samples[i] = i % 1920 < 960 ? 0.5F : -0.5F;
  CHECK(speed_error(reading_of(samples, 1.0), truth).largest < 1e-4);
}

TEST_CASE("missing pulses are added and extra ones ignored, with their times") {
  const SpeedCurve truth = sweep(8.0);
  auto times = tooth_times(truth, 8.0, 1.0);
  const std::size_t whole = times.size();
  const double lost_one = times[40];
  const double lost_two = times[101];
  std::erase_if(times, [&](double t) { return t == lost_one || t == times[100] || t == lost_two; });
  const double extra = 0.5 * (times[70] + times[71]);
  times.insert(times.begin() + 71, extra);
  const double bounce = times[150] + 0.006;  // a second pulse close behind
  times.insert(times.begin() + 151, bounce);

  const auto reading = reading_of(pulse_train(times, 8.0, 0.7), 1.0);
  REQUIRE(reading.missing.size() == 3);
  CHECK(reading.missing[0].value == doctest::Approx(lost_one).epsilon(0.002));
  CHECK(reading.missing[2].value == doctest::Approx(lost_two).epsilon(0.002));
  REQUIRE(reading.extra.size() == 2);
  CHECK(reading.extra[0].value == doctest::Approx(extra).epsilon(0.001));
  CHECK(reading.extra[1].value == doctest::Approx(bounce).epsilon(0.001));
  CHECK(reading.misfits.empty());
  CHECK(reading.pulses == whole - 3);
  CHECK(reading.angles.back().revolutions == doctest::Approx(static_cast<double>(whole - 1)));
  CHECK(speed_error(reading, truth).largest < 1e-3);
}

TEST_CASE("a click much higher than the pulses does no harm") {
  const SpeedCurve truth = SpeedCurve::constant(900.0_rpm, 0.0);
  const auto times = tooth_times(truth, 6.0, 1.0);
  auto samples = pulse_train(times, 6.0, 0.1);
  samples[150'000] = 1.0F;
  const auto reading = reading_of(samples, 1.0);
  CHECK(reading.pulses == times.size());
  CHECK(reading.extra.size() == 1);
  CHECK(speed_error(reading, truth).largest < 1e-4);
}

TEST_CASE("the size of the chunks changes nothing") {
  const auto samples = pulse_train(tooth_times(sweep(4.0), 4.0, 2.0), 4.0, 0.7);
  const auto whole =
      std::get<TachoReading>(read_tacho(player_of(samples, samples.size()), {rate, 2.0}));
  for (const std::size_t chunk : {1UL, 333UL, 48'000UL}) {
    const auto pieces = std::get<TachoReading>(read_tacho(player_of(samples, chunk), {rate, 2.0}));
    REQUIRE(pieces.angles.size() == whole.angles.size());
    for (std::size_t i = 0; i < whole.angles.size(); ++i) {
      CHECK(pieces.angles[i].time == whole.angles[i].time);
      CHECK(pieces.angles[i].revolutions == whole.angles[i].revolutions);
    }
  }
}

TEST_CASE("low and high sample rates") {
  const SpeedCurve truth = sweep(6.0);
  for (const double sample_rate : {4000.0, 384'000.0}) {
    CAPTURE(sample_rate);
    const auto samples = pulse_train(tooth_times(truth, 6.0, 1.0), 6.0, 0.7, sample_rate);
    // At 4 kHz a pulse has two samples; a straight line between them misses by up to 0.15 of one.
    const double tolerance = sample_rate < 5000.0 ? 4e-3 : 5e-4;
    CHECK(speed_error(reading_of(samples, 1.0, sample_rate), truth).largest < tolerance);
  }
}

TEST_CASE("nothing, noise and too little are failures with a name") {
  using Reason = TachoFailure::Reason;
  const std::vector<float> silence(static_cast<std::size_t>(3.0 * rate));
  CHECK(failure_of(silence, 1.0).reason == Reason::no_pulses);
  CHECK(failure_of({}, 1.0).reason == Reason::no_pulses);

  std::vector<float> noise(static_cast<std::size_t>(3.0 * rate));
  add_noise(noise, 0.1);
  const TachoFailure noisy = failure_of(noise, 1.0);
  CHECK((noisy.reason == Reason::irregular || noisy.reason == Reason::interrupted));

  const auto three = pulse_train({0.1, 0.2, 0.3}, 1.0, 0.7);
  CHECK(failure_of(three, 1.0).reason == Reason::too_few);
  const auto half_a_turn = pulse_train({0.1, 0.11, 0.12, 0.13, 0.14, 0.15}, 1.0, 0.7);
  CHECK(failure_of(half_a_turn, 12.0).reason == Reason::too_few);
}

TEST_CASE("a wheel of 60 teeth less 2 is refused, steady and in a sweep, not misread") {
  for (const SpeedCurve& truth : {SpeedCurve::constant(900.0_rpm, 0.0), sweep(6.0)}) {
    auto all = tooth_times(truth, 6.0, 60.0);
    std::vector<double> times;
    for (std::size_t i = 0; i < all.size(); ++i)
      if (i % 60 < 58) times.push_back(all[i]);
    const TachoFailure failure = failure_of(pulse_train(times, 6.0, 0.7), 58.0);
    CHECK(failure.reason == TachoFailure::Reason::missing_teeth);
    CHECK(failure.pulses_between_gaps == 58);
  }
}

TEST_CASE("pulses at random are irregular; those that stop are interrupted") {
  Random random(11);
  std::vector<double> times{0.1};
  while (times.back() < 5.8) times.push_back(times.back() + 0.02 + 0.08 * draw_uniform(random));
  const TachoFailure irregular = failure_of(pulse_train(times, 6.0, 0.7), 1.0);
  CHECK(irregular.reason == TachoFailure::Reason::irregular);
  CHECK(irregular.percent > 5.0);

  auto stalled = tooth_times(SpeedCurve::constant(900.0_rpm, 0.0), 6.0, 1.0);
  std::erase_if(stalled, [](double t) { return t > 2.5 && t < 4.0; });
  const TachoFailure interrupted = failure_of(pulse_train(stalled, 6.0, 0.7), 1.0);
  CHECK(interrupted.reason == TachoFailure::Reason::interrupted);
  CHECK(interrupted.at.value == doctest::Approx(2.5).epsilon(0.03));
}
