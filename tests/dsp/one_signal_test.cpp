#include "dsp/one_signal.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 16'000.0;
constexpr std::size_t kSamples = 64'000;
constexpr Interval kWithin{40.0, 7'200.0};

std::vector<float> noise(double rms, std::uint64_t seed) {
  Random random(seed);
  return synth_noise(kSamples, rms, random);
}

std::vector<float> sum(std::vector<float> a, const std::vector<float>& b, double gain = 1.0) {
  synth_add(a, b, gain);
  return a;
}

/// As a file of 16 bits stores it.
std::vector<float> rounded(std::vector<float> samples) {
  for (float& x : samples) x = std::round(32768.0F * x) / 32768.0F;
  return samples;
}

/// A one-pole low-pass: within 0.5 dB of flat up to 0.35 of its corner.
std::vector<float> low_passed(std::vector<float> samples, double corner_hz) {
  const auto share = static_cast<float>(1.0 - std::exp(-2.0 * 3.14159265 * corner_hz / kRate));
  float state = 0.0F;
  for (float& x : samples) x = state += share * (x - state);
  return samples;
}

CrossSpectrum spectrum_of(const std::vector<float>& x, const std::vector<float>& y) {
  return cross_spectrum(x, y, kRate, {WindowKind::hann, 4096, 2048});
}

bool same(const std::vector<float>& x, const std::vector<float>& y) {
  return is_one_signal(spectrum_of(x, y), kWithin);
}

}  // namespace

TEST_CASE("a channel stored twice is one signal: equal, with a gain, turned over, rounded") {
  const auto sound = rounded(noise(0.05, 1));
  CHECK(same(sound, sound));
  for (const double gain : {0.3, 2.0, -1.0, -0.1}) {
    CAPTURE(gain);
    const auto copy = rounded(sum(std::vector<float>(kSamples), sound, gain));
    const auto fit = fit_copy(spectrum_of(sound, copy), kWithin);
    REQUIRE(fit);
    CHECK(fit->gain == doctest::Approx(gain).epsilon(1e-3));
    // Rounding: (2⁻¹⁵)²/12 over the copy's own (0.05·gain)².
    const double rounding = std::pow(2.0, -30.0) / 12.0 / std::pow(0.05 * gain, 2);
    CHECK(fit->left < 1.5 * rounding);
    CHECK(same(sound, copy));
  }
}

TEST_CASE("converters that take turns are half a sample apart: still one signal") {
  // The mean of two neighbours of a sound sampled at twice the rate would need a filter; tones of
  // known phase need none: 450 of them, each heard 0.4 samples later.
  std::vector<float> x(kSamples);
  std::vector<float> y(kSamples);
  constexpr double late = 0.4 / kRate;
  Random random(3);
  for (int i = 0; i < 450; ++i) {
    const double hertz = 60.0 + 15.6 * i;
    const double phase = 6.28318531 * draw_uniform(random);
    const std::vector<double> course(kSamples, hertz);
    synth_add(x, synth_tone(course, kRate, 0.002, phase));
    synth_add(y, synth_tone(course, kRate, 0.002, phase - 2.0 * 3.14159265 * hertz * late));
  }
  const auto fit = fit_copy(spectrum_of(x, y), kWithin);
  REQUIRE(fit);
  CHECK(fit->delay.value == doctest::Approx(late).epsilon(0.01));
  CHECK(same(x, y));
}

TEST_CASE("two microphones are not one signal, however alike they hear") {
  const auto source = noise(0.05, 1);
  // A millionth part of the power, and a ten-thousandth, of noise of their own.
  CHECK(same(source, sum(source, noise(0.05 * 1e-3, 2))));
  CHECK_FALSE(same(source, sum(source, noise(0.05 * 1.1e-2, 2))));
  // Without any noise, responses that differ by up to 3 dB.
  CHECK_FALSE(same(source, low_passed(source, 7'000.0)));
  CHECK_FALSE(same(source, noise(0.05, 4)));
}

TEST_CASE("hum that both channels hear alike makes them no copy") {
  std::vector<float> hum(kSamples);
  for (int harmonic = 1; harmonic <= 20; ++harmonic)
    synth_add(hum, synth_tone(std::vector<double>(kSamples, 50.0 * harmonic), kRate, 0.03));
  // Hum 40 dB and more above all else, so that 0.01 % of the power differs.
  CHECK_FALSE(same(sum(noise(0.0003, 1), hum), sum(noise(0.0003, 2), hum)));
}

TEST_CASE("noise that both channels share makes them no copy where what is loud differs") {
  const auto shared = noise(0.003, 1);
  const auto tone = synth_tone(std::vector<double>(kSamples, 300.0), kRate, 0.1);
  CHECK_FALSE(same(sum(shared, tone), sum(shared, tone, 0.5)));
}

TEST_CASE("a copy is told among lines that hold nothing but rounding") {
  // Low-passed twice, so that the upper quarter or so of the lines drowns in rounding.
  const auto dull = low_passed(low_passed(noise(0.1, 1), 800.0), 800.0);
  CHECK(same(rounded(dull), rounded(sum(std::vector<float>(kSamples), dull, 0.7))));
}

TEST_CASE("where nothing sounds, nothing is fitted") {
  const std::vector<float> silent(kSamples);
  CHECK_FALSE(fit_copy(spectrum_of(silent, noise(0.05, 1)), kWithin));
  CHECK_FALSE(fit_copy(spectrum_of(noise(0.05, 1), noise(0.05, 1)), {100.0, 120.0}));
}
