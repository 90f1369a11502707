#include "dsp/synth.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <stdexcept>

using namespace howl;

namespace {

constexpr double kPi = std::numbers::pi;

/// Complex amplitude at `frequency` by the sum written out: a sine a·sin(2πft + φ) whose cycles fit
/// the signal gives a·e^{i(φ − π/2)}.
std::complex<double> amplitude_at(std::span<const float> signal, double frequency, double rate) {
  const std::complex<double> step = std::polar(1.0, -2.0 * kPi * frequency / rate);
  std::complex<double> sum;
  std::complex<double> turn = 1.0;
  for (const float x : signal) {
    sum += static_cast<double>(x) * turn;
    turn *= step;
  }
  return 2.0 * sum / static_cast<double>(signal.size());
}

double mean_square(std::span<const float> signal) {
  double sum = 0.0;
  for (const float x : signal) sum += static_cast<double>(x) * static_cast<double>(x);
  return sum / static_cast<double>(signal.size());
}

/// Gain of the resonance for a steady tone, past its transient.
double resonance_gain(double frequency, double resonance, double damping, double rate) {
  constexpr std::size_t settle = 96000;
  const std::vector<double> hz(settle + 48000, frequency);
  std::vector<float> signal = synth_tone(hz, rate, 0.01);
  const std::vector<float> before(signal.begin() + settle, signal.end());
  synth_resonance(signal, rate, Hertz(resonance), damping);
  const std::vector<float> after(signal.begin() + settle, signal.end());
  return std::abs(amplitude_at(after, frequency, rate)) /
         std::abs(amplitude_at(before, frequency, rate));
}

}  // namespace

TEST_CASE("synth: a tone has the frequency, level and phase asked for") {
  // 440 whole cycles in one second, so that the sum sees one line: amplitude 0.5 at phase 0.3.
  const std::vector<double> hz(48000, 440.0);
  const std::vector<float> tone = synth_tone(hz, 48000.0, 0.5, 0.3);
  const auto line = amplitude_at(tone, 440.0, 48000.0);
  CHECK(std::abs(line) == doctest::Approx(0.5).epsilon(1e-7));
  CHECK(std::arg(line) == doctest::Approx(0.3 - kPi / 2).epsilon(1e-6));
  CHECK(std::abs(amplitude_at(tone, 441.0, 48000.0)) < 1e-7);
  CHECK(mean_square(tone) == doctest::Approx(0.125).epsilon(1e-6));
}

TEST_CASE("synth: every sample of a tone is right to 1e-6, after a long time too") {
  constexpr double rate = 48000.0;
  const std::vector<double> hz(20 * 48000, 3456.75);
  const std::vector<float> tone = synth_tone(hz, rate, 1.0, 1.0);
  double worst = 0.0;
  for (std::size_t n = 0; n < tone.size(); ++n) {
    const double cycles = 3456.75 * static_cast<double>(n) / rate;
    const double want = std::sin(2.0 * kPi * std::fmod(cycles, 1.0) + 1.0);
    worst = std::max(worst, std::abs(want - static_cast<double>(tone[n])));
  }
  CHECK(worst < 1e-6);
}

TEST_CASE("synth: an order follows the crankshaft angle exactly") {
  // 600 to 3000 rpm in 4 s: 10 + 10 t revolutions a second, angle 10 t + 5 t², order 12.
  const std::vector<SpeedPoint> ramp{{0.0_s, 600.0_rpm}, {4.0_s, 3000.0_rpm}};
  const SpeedCurve speed = SpeedCurve::through(ramp, 0.0);
  constexpr double rate = 8000.0;
  const std::vector<float> signal = synth_order(speed, 12.0_order, 32000, rate, 0.7, 0.2);
  double worst = 0.0;
  for (std::size_t n = 0; n < signal.size(); ++n) {
    const double t = static_cast<double>(n) / rate;
    const double want = 0.7 * std::sin(2.0 * kPi * 12.0 * (10.0 * t + 5.0 * t * t) + 0.2);
    worst = std::max(worst, std::abs(want - static_cast<double>(signal[n])));
  }
  CHECK(worst < 1e-6);
}

TEST_CASE("synth: harmonics keep their levels, and modulation makes sidebands of half its depth") {
  const SpeedCurve speed = SpeedCurve::constant(1200.0_rpm, 0.0);  // 20 turns a second
  const std::vector<double> turns = crank_turns(speed, 48000, 48000.0);
  std::vector<float> signal(turns.size());
  synth_family(signal, turns,
               {.cycles_per_turn = 10.0,
                .harmonics = {{0.4, 0.1}, {0.2, 0.5}, {0.05, 2.0}},
                .modulation = ToneFamily::Modulation{.cycles_per_turn = 1.0, .depth = 0.3}});
  const auto level = [&](double f) { return std::abs(amplitude_at(signal, f, 48000.0)); };
  CHECK(level(200.0) == doctest::Approx(0.4).epsilon(1e-6));
  CHECK(level(400.0) == doctest::Approx(0.2).epsilon(1e-6));
  CHECK(level(600.0) == doctest::Approx(0.05).epsilon(1e-6));
  CHECK(level(180.0) == doctest::Approx(0.4 * 0.15).epsilon(1e-6));
  CHECK(level(420.0) == doctest::Approx(0.2 * 0.15).epsilon(1e-6));
  CHECK(level(210.0) < 1e-7);
}

TEST_CASE("synth: an envelope scales a family, whatever the length is to the block") {
  const std::vector<double> hz(1001, 100.0);
  const std::vector<double> turns = phase_turns(hz, 8000.0);
  const ToneFamily family{.cycles_per_turn = 1.0, .harmonics = {{1.0, 0.7}}, .modulation = {}};
  std::vector<float> plain(turns.size());
  std::vector<float> halved(turns.size());
  synth_family(plain, turns, family);
  synth_family(halved, turns, family, std::vector<float>(turns.size(), 0.5F));
  for (std::size_t n = 0; n < plain.size(); ++n)
    REQUIRE(halved[n] == doctest::Approx(0.5F * plain[n]).epsilon(1e-6));
  CHECK_THROWS_AS(synth_family(plain, turns, family, std::vector<float>(3)), std::invalid_argument);
}

TEST_CASE("synth: an engine with equal cylinders has only its firing orders, an uneven one more") {
  Random random(3);
  const ToneFamily even = combustion_family(
      {.cylinders = 6, .amplitude = 0.5, .fall_db_per_octave = 6.0206, .cylinder_spread = 0.0},
      random);
  CHECK(even.cycles_per_turn == 0.5);
  for (std::size_t k = 1; k <= even.harmonics.size(); ++k)
    if (k % 6 != 0) CHECK(even.harmonics[k - 1].amplitude < 1e-12);
  CHECK(even.harmonics[5].amplitude == doctest::Approx(0.5));  // order 3
  CHECK(even.harmonics[11].amplitude == doctest::Approx(0.25).epsilon(1e-4));
  CHECK(even.harmonics[23].amplitude == doctest::Approx(0.125).epsilon(1e-4));

  // With spread s the half orders have the mean square s²/N of the firing order's amplitude.
  double power = 0.0;
  constexpr int engines = 400;
  for (int i = 0; i < engines; ++i) {
    const ToneFamily uneven =
        combustion_family({.cylinders = 4, .amplitude = 1.0, .cylinder_spread = 0.1}, random);
    power += std::norm(uneven.harmonics[0].amplitude) / engines;
  }
  // Exponentially distributed power: its mean over 400 engines has 5 % standard error.
  CHECK(power == doctest::Approx(0.01 / 4.0).epsilon(0.2));
}

TEST_CASE("synth: a four-stroke engine fires half as often in a turn as it has cylinders") {
  // Textbook: orders 1.5, 2, 3 and 4; six cylinders at 2000 rpm fire 100 times a second.
  struct Row {
    int cylinders;
    double order;
  };
  Random random(9);
  for (const Row& row : {Row{3, 1.5}, Row{4, 2.0}, Row{6, 3.0}, Row{8, 4.0}}) {
    CAPTURE(row.cylinders);
    const ToneFamily family =
        combustion_family({.cylinders = row.cylinders, .amplitude = 0.5}, random);
    const auto strongest =
        std::max_element(family.harmonics.begin(), family.harmonics.end(),
                         [](const auto& a, const auto& b) { return a.amplitude < b.amplitude; });
    const double order =
        family.cycles_per_turn * static_cast<double>(strongest - family.harmonics.begin() + 1);
    CHECK(order == row.order);
    if (row.cylinders == 6) CHECK(order * 2000.0 / 60.0 == doctest::Approx(100.0));
  }
}

TEST_CASE("synth: a slipping belt turns its pulley by the integral of 1 − slip") {
  Random random(5);
  const SpeedCurve speed = SpeedCurve::constant(3000.0_rpm, 0.0);
  constexpr double rate = 8000.0;
  constexpr std::size_t samples = 80000;
  const std::vector<double> crank = crank_turns(speed, samples, rate);
  const BeltSlip belt{.bounds = {0.005, 0.015},
                      .correlation = 1.0_s,
                      .per_1000_rpm = 0.001,
                      .added_by_load = 0.004};
  const std::vector<double> slip = synth_slip(belt, speed, samples, rate, random);
  // 3000 rpm is 2 × 1000 above 1000: the bounds move by 0.002 + 0.004.
  const auto [low, high] = std::minmax_element(slip.begin(), slip.end());
  CHECK(*low >= 0.011);
  CHECK(*high <= 0.021);
  CHECK(*high - *low > 0.005);
  const std::vector<double> pulley = belt_turns(crank, 1.2, slip);
  double want = 0.0;
  for (std::size_t n = 0; n + 1 < samples; ++n) want += 1.2 * (1.0 - slip[n]) * 50.0 / rate;
  CHECK(pulley.back() == doctest::Approx(want).epsilon(1e-9));

  const std::vector<double> rigid = belt_turns(crank, 1.2, std::vector<double>(samples, 0.0));
  CHECK(rigid.back() == doctest::Approx(1.2 * crank.back()).epsilon(1e-12));
}

TEST_CASE("synth: resonance gain, single degree of freedom (Den Hartog, Mechanical Vibrations)") {
  // The formula is from memory, as any textbook has it.
  // |H| = 1/√((1−r²)² + (2ζr)²): 1/(2ζ) at r = 1. At 48 kHz the bilinear transform bends the other
  // frequencies by less than 0.1 % for a resonance at 1 kHz.
  CHECK(resonance_gain(1000.0, 1000.0, 0.05, 48000.0) == doctest::Approx(10.0).epsilon(1e-4));
  CHECK(resonance_gain(6000.0, 6000.0, 0.02, 48000.0) == doctest::Approx(25.0).epsilon(1e-4));
  // r = 1/5: +0.35 dB; r = 1/3: +1.02 dB, ζ = 0.05.
  CHECK(20.0 * std::log10(resonance_gain(200.0, 1000.0, 0.05, 48000.0)) ==
        doctest::Approx(0.35).epsilon(0.02));
  CHECK(20.0 * std::log10(resonance_gain(333.0, 999.0, 0.05, 48000.0)) ==
        doctest::Approx(1.02).epsilon(0.01));
  // Far above, −12 dB an octave: r = 4 gives 1/15.
  CHECK(resonance_gain(1000.0, 250.0, 0.05, 48000.0) == doctest::Approx(1.0 / 15.0).epsilon(0.01));
}

TEST_CASE("synth: noise has the rms asked for and the pink slope") {
  Random random(7);
  constexpr double rate = 16000.0;
  constexpr std::size_t samples = 320000;
  // White: the mean square of n values has a relative standard error √(2/n) = 0.25 %.
  CHECK(mean_square(synth_noise(samples, 0.2, random)) == doctest::Approx(0.04).epsilon(0.01));
  // Pink: most of the power lies in few degrees of freedom (bandwidth ~100 Hz, 20 s): 3 %.
  CHECK(mean_square(synth_pink(samples, rate, 0.2, random)) == doctest::Approx(0.04).epsilon(0.12));
  // Over decades 100 → 1000 Hz: −10 dB, within the ripple of the poles and zeros.
  const double fall = 10.0 * std::log10(pink_density(1000.0_hz, 48000.0, 1.0) /
                                        pink_density(100.0_hz, 48000.0, 1.0));
  CHECK(fall == doctest::Approx(-10.0).epsilon(0.08));
  // The density integrates to the mean square.
  double power = 0.0;
  for (int k = 0; k < 8000; ++k) power += pink_density(Hertz(0.5 + k), rate, 0.2);
  CHECK(power == doctest::Approx(0.04).epsilon(1e-3));
}

TEST_CASE("synth: pink noise has its stated density in a band") {
  Random random(8);
  constexpr double rate = 8000.0;
  const std::vector<float> noise = synth_pink(160000, rate, 1.0, random);
  // Mean of |X|² over 400 lines 0.05 Hz apart around 1 kHz: 5 % standard error.
  double density = 0.0;
  for (int k = -200; k < 200; ++k)
    density += std::norm(amplitude_at(noise, 1000.0 + 0.05 * k, rate)) / 2.0 / 0.05 / 400.0;
  CHECK(density == doctest::Approx(pink_density(1000.0_hz, rate, 1.0)).epsilon(0.2));
}

TEST_CASE("synth: band noise has its rms and sits at its centre") {
  Random random(9);
  const std::vector<float> noise = synth_band_noise(320000, 16000.0, 2000.0_hz, 0.1, 0.1, random);
  CHECK(mean_square(noise) == doctest::Approx(0.01).epsilon(0.05));
  const auto power_near = [&](double centre) {
    double sum = 0.0;
    for (int k = 0; k < 40; ++k) sum += std::norm(amplitude_at(noise, centre + 2.0 * k, 16000.0));
    return sum;
  };
  CHECK(power_near(2000.0) > 10.0 * power_near(500.0));
  CHECK(power_near(2000.0) > 10.0 * power_near(6000.0));
}

TEST_CASE("synth: wander has unit variance and its correlation time") {
  Random random(11);
  // 20000 s at 10 Hz with τ = 2 s: 5000 independent values, standard error of the variance 2 %.
  const std::vector<double> x = synth_wander(200000, 10.0, 2.0_s, random);
  double power = 0.0;
  double lagged = 0.0;
  for (std::size_t n = 0; n + 20 < x.size(); ++n) {
    power += x[n] * x[n];
    lagged += x[n] * x[n + 20];
  }
  CHECK(power / static_cast<double>(x.size() - 20) == doctest::Approx(1.0).epsilon(0.08));
  CHECK(lagged / power == doctest::Approx(std::exp(-1.0)).epsilon(0.12));
}

TEST_CASE("synth: jittered speed keeps the base curve on average and scatters as asked") {
  Random random(13);
  const SpeedCurve base = SpeedCurve::constant(1500.0_rpm, 0.003);
  const SpeedCurve speed = synth_jittered_speed(base, 600.0_s, 0.002, random);
  std::vector<double> values;
  for (int i = 0; i < 6000; ++i) values.push_back(speed.at(Seconds(0.1 * i)).value);
  // 1000 independent values: mean within 4 standard errors, spread less a little for what lies
  // between the nodes.
  CHECK(mean(values) == doctest::Approx(1500.0).epsilon(4 * 0.002 / std::sqrt(1000.0)));
  CHECK(standard_deviation(values) == doctest::Approx(3.0).epsilon(0.15));
  CHECK(speed.relative_error() == 0.0);
}

TEST_CASE("synth: tacho pulses come at whole fractions of a turn") {
  const SpeedCurve speed = SpeedCurve::constant(600.0_rpm, 0.0);  // 10 turns a second
  const std::vector<double> turns = crank_turns(speed, 10000, 10000.0);
  const std::vector<float> pulses = synth_pulses(turns, 2.0, 0.8);
  // 20 pulses a second, spacing 500 samples, width at half height 0.1·500 = 50 samples.
  std::vector<std::size_t> rises;
  for (std::size_t n = 1; n < pulses.size(); ++n)
    if (pulses[n - 1] < 0.4F && pulses[n] >= 0.4F) rises.push_back(n);
  REQUIRE(rises.size() == 20);
  CHECK(rises[0] == 475);
  for (std::size_t i = 1; i < rises.size(); ++i) CHECK(rises[i] - rises[i - 1] == 500);
  CHECK(*std::max_element(pulses.begin(), pulses.end()) == doctest::Approx(0.8F));
}

TEST_CASE("synth: blows come as often a turn as asked, each a little early or late") {
  const SpeedCurve speed = SpeedCurve::constant(600.0_rpm, 0.0);  // 10 turns a second
  const std::vector<double> turns = crank_turns(speed, 100'000, 10000.0);
  const auto places = [&](double spread) {
    Random random(3);
    const std::vector<float> blows = synth_blows(turns, 0.25, 4.0, spread, random);
    std::vector<std::size_t> found;
    for (std::size_t n = 0; n < blows.size(); ++n)
      if (blows[n] > 0.0F) found.push_back(n);
    return found;
  };
  const std::vector<std::size_t> even = places(0.0);
  REQUIRE(even.size() == 399);  // 10 s · 10 turns · 4, less the one before 0.25 turns
  CHECK(even[0] == 250);
  for (std::size_t i = 1; i < even.size(); ++i)
    CHECK(std::abs(static_cast<double>(even[i] - even[i - 1]) - 250.0) <= 1.0);
  const std::vector<std::size_t> uneven = places(0.02);
  double sum = 0.0;
  double squares = 0.0;
  for (std::size_t i = 1; i < uneven.size(); ++i) {
    const double gap = static_cast<double>(uneven[i] - uneven[i - 1]) / 250.0;
    sum += gap;
    squares += gap * gap;
  }
  const auto count = static_cast<double>(uneven.size() - 1);
  const double mean = sum / count;
  CHECK(mean == doctest::Approx(1.0).epsilon(0.004));  // 4 standard errors
  // Standard error of a standard deviation from 398 values: 3.5 %.
  CHECK(std::sqrt(squares / count - mean * mean) == doctest::Approx(0.02).epsilon(0.15));
}

TEST_CASE("synth: a dropout mutes its stretch and nothing else, clipping holds the limit") {
  std::vector<float> signal(1000, 0.5F);
  synth_dropout(signal, 1000.0, 0.2_s, 0.3_s);
  CHECK(signal[199] == 0.5F);
  CHECK(signal[350] == doctest::Approx(0.0005F));
  CHECK(signal[501] == 0.5F);
  signal[0] = 3.0F;
  signal[1] = -3.0F;
  synth_clip(signal, 0.9F);
  CHECK(signal[0] == 0.9F);
  CHECK(signal[1] == -0.9F);
}

TEST_CASE("synth: the same seed gives the same samples") {
  Random one(42);
  Random two(42);
  CHECK(synth_pink(1000, 8000.0, 0.1, one) == synth_pink(1000, 8000.0, 0.1, two));
  CHECK(combustion_family({}, one).harmonics[3].phase ==
        combustion_family({}, two).harmonics[3].phase);
}

TEST_CASE("synth: impossible arguments are refused") {
  std::vector<float> signal(10);
  CHECK_THROWS_AS(synth_resonance(signal, 8000.0, 4000.0_hz, 0.1), std::invalid_argument);
  CHECK_THROWS_AS(synth_resonance(signal, 8000.0, 1000.0_hz, 0.0), std::invalid_argument);
  CHECK_THROWS_AS(synth_add(signal, std::vector<float>(9)), std::invalid_argument);
  Random random(1);
  CHECK_THROWS_AS(combustion_family({.cylinders = 0}, random), std::invalid_argument);
  CHECK_THROWS_AS(synth_blows({}, 0.0, 0.0, 0.01, random), std::invalid_argument);
  CHECK_THROWS_AS(synth_blows({}, 0.0, 1.0, 0.5, random), std::invalid_argument);
}
