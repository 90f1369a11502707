#include "dsp/spectral_kurtosis.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 16000.0;

/// Kurtosis of one line whose complex amplitude in each block `draw` gives.
template <class Draw>
double kurtosis_of(std::size_t blocks, const Draw& draw) {
  double sum = 0.0;
  double squares = 0.0;
  for (std::size_t i = 0; i < blocks; ++i) {
    const double power = std::norm(draw(i));
    sum += power;
    squares += power * power;
  }
  return spectral_kurtosis(sum, squares, static_cast<double>(blocks));
}

std::complex<double> gaussian(Random& random) { return {draw_normal(random), draw_normal(random)}; }

std::vector<KurtosisSpectrum> kurtogram_of(const std::vector<float>& samples,
                                           KurtogramParameters parameters = {}) {
  Kurtogram kurtogram(kRate, parameters);
  kurtogram.push(samples);
  return kurtogram.finish();
}

/// A resonance struck `rate` times a second, in white noise.
std::vector<float> struck(double seconds, double rate, double resonance, double blow,
                          Random& random) {
  std::vector<float> samples(static_cast<std::size_t>(seconds * kRate));
  for (double t = 0.01; t < seconds; t += (1.0 + 0.01 * draw_normal(random)) / rate)
    samples[static_cast<std::size_t>(t * kRate)] = static_cast<float>(blow);
  synth_resonance(samples, kRate, Hertz(resonance), 0.04);
  synth_add(samples, synth_noise(samples.size(), 0.01, random));
  return samples;
}

}  // namespace

// Antoni 2006 is cited for the definition; the closed forms are from memory, and the draws below
// hold them.
TEST_CASE("stationary noise has spectral kurtosis 0 with deviation 2/sqrt(K) (Antoni 2006)") {
  Random random(1);
  for (const std::size_t blocks : {std::size_t{100}, std::size_t{400}}) {
    std::vector<double> values;
    for (int i = 0; i < 6000; ++i)
      values.push_back(kurtosis_of(blocks, [&](std::size_t) { return gaussian(random); }));
    const double sigma = spectral_kurtosis_sigma(static_cast<double>(blocks));
    CHECK(sigma == doctest::Approx(blocks == 100 ? 0.20 : 0.10));
    CHECK(standard_deviation(values) == doctest::Approx(sigma).epsilon(0.08));
    // Without the factor of Nita and Gary the mean would be −2/K.
    CHECK(std::abs(mean(values)) < 0.5 * 2.0 / static_cast<double>(blocks));
  }
}

TEST_CASE("a steady tone has spectral kurtosis -1 (Antoni 2006)") {
  CHECK(kurtosis_of(50, [](std::size_t i) {
          return std::polar(0.3, 1.7 * static_cast<double>(i));
        }) == doctest::Approx(-1.0));
}

TEST_CASE("bursts present a share p of the time have 2/p - 2; noise divides by (1 + rho)^2") {
  // Antoni 2006: p = 0.1 gives 18, and 4.5 with as much noise as signal.
  Random random(2);
  const double p = 0.1;
  const auto burst = [&](std::size_t) {
    return draw_uniform(random) < p ? gaussian(random) : std::complex<double>{};
  };
  CHECK(kurtosis_of(400000, burst) == doctest::Approx(18.0).epsilon(0.04));
  CHECK(kurtosis_of(400000, [&](std::size_t i) {
          return burst(i) + std::sqrt(p) * gaussian(random);
        }) == doctest::Approx(4.5).epsilon(0.06));
}

TEST_CASE("a level that drifts leaves little kurtosis, as it is taken over stretches") {
  // 12 dB over 5 s. Over all of it the power's own spread gives 2·⟨p²⟩/⟨p⟩² − 2: for p = 16^x with
  // x even on 0 … 1, 2·((16² − 1)/(2 ln 16))·(ln 16)²/15² − 2 = 1.14; within a second 0.05.
  Random random(3);
  std::vector<float> samples = synth_noise(static_cast<std::size_t>(5 * kRate), 0.1, random);
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] *= static_cast<float>(std::pow(4.0, static_cast<double>(i) / (5.0 * kRate)));
  const auto typical = [](const std::vector<KurtosisSpectrum>& kurtogram) {
    return mean(
        std::span(kurtogram.back().kurtosis).subspan(2, kurtogram.back().kurtosis.size() - 4));
  };
  CHECK(typical(kurtogram_of(samples)) == doctest::Approx(0.05).epsilon(0.5));
  CHECK(typical(kurtogram_of(samples, {.stretch_seconds = 100.0})) ==
        doctest::Approx(1.14).epsilon(0.1));
}

TEST_CASE("stationary noise is called impulsive in at most 1 % of takes or so") {
  int found = 0;
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    Random random(seed);
    const auto samples = synth_noise(static_cast<std::size_t>(3 * kRate), 0.1, random);
    found += !impulsive_bands(kurtogram_of(samples), {{400.0, 7500.0}}).empty();
  }
  CHECK(found <= 4);
}

TEST_CASE("the band with the highest kurtosis lies on the struck resonance") {
  Random random(5);
  for (const double resonance : {3100.0, 4300.0}) {
    const auto bands = impulsive_bands(kurtogram_of(struck(4.0, 60.0, resonance, 0.02, random)),
                                       {{400.0, 7500.0}});
    REQUIRE(!bands.empty());
    CHECK(bands.front().hertz.contains(resonance));
    CHECK(bands.front().false_alarm < 1e-6);
  }
}

TEST_CASE("chunking does not change the kurtogram") {
  Random random(6);
  const auto samples = struck(2.0, 60.0, 3000.0, 0.5, random);
  Kurtogram kurtogram(kRate, {});
  for (std::size_t i = 0; i < samples.size(); i += 997)
    kurtogram.push(std::span(samples).subspan(i, std::min<std::size_t>(997, samples.size() - i)));
  const auto pieces = kurtogram.finish();
  const auto whole = kurtogram_of(samples);
  REQUIRE(pieces.size() == whole.size());
  for (std::size_t i = 0; i < whole.size(); ++i)
    for (std::size_t k = 0; k < whole[i].kurtosis.size(); ++k)
      CHECK(pieces[i].kurtosis[k] ==
            doctest::Approx(whole[i].kurtosis[k]).epsilon(1e-5).scale(1.0));
}

TEST_CASE("too short or silent audio has no impulsive band") {
  CHECK(impulsive_bands(kurtogram_of(std::vector<float>(100, 0.1F)), {{400.0, 7500.0}}).empty());
  CHECK(impulsive_bands(kurtogram_of(std::vector<float>(48000, 0.0F)), {{400.0, 7500.0}}).empty());
}
