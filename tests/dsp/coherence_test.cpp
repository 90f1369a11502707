#include "dsp/coherence.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>
#include <stdexcept>
#include <vector>

#include "dsp/delay.h"
#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 8000.0;

std::vector<float> noise(std::size_t samples, double rms, std::uint64_t seed) {
  Random random(seed);
  return synth_noise(samples, rms, random);
}

std::vector<float> sum_of(std::vector<float> a, const std::vector<float>& b, double gain = 1.0) {
  synth_add(a, b, gain);
  return a;
}

double mean_coherence(const CrossSpectrum& spectrum) {
  const auto lines = coherence(spectrum);
  double sum = 0.0;
  for (std::size_t k = 1; k + 1 < lines.size(); ++k)
    sum += unbiased_coherence(lines[k], spectrum.effective_averages);
  return sum / static_cast<double>(lines.size() - 2);
}

}  // namespace

TEST_CASE("random errors of two-channel estimates are those of Bendat & Piersol, Random Data 4e") {
  // γ², n_d; bias (Eq. 9.75), relative errors of γ² and of |H| (Eq. 9.52), s.d. of its phase.
  struct Row {
    double coherence, averages, bias, coherence_error, response_error, phase_degrees;
  };
  constexpr std::array<Row, 4> rows{{{0.5, 16, 0.0156, 0.2500, 0.1768, 10.13},
                                     {0.9, 16, 0.0006, 0.0373, 0.0589, 3.38},
                                     {0.5, 100, 0.0025, 0.1000, 0.0707, 4.05},
                                     {0.9, 100, 0.0001, 0.0149, 0.0236, 1.35}}};
  for (const Row& row : rows) {
    CAPTURE(row.coherence);
    CAPTURE(row.averages);
    CHECK(std::abs(coherence_bias(row.coherence, row.averages) - row.bias) <= 0.00005);
    CHECK(std::abs(coherence_error(row.coherence, row.averages) - row.coherence_error) <= 0.0001);
    const double response = response_error(row.coherence, row.averages);
    CHECK(std::abs(response - row.response_error) <= 0.00005);
    CHECK(std::abs(response * 180.0 / std::numbers::pi - row.phase_degrees) <= 0.01);
  }
  // Eq. 9.73 at γ² = 0.5, n_d = 16: √1.5/(√0.5·4) = √3/4.
  CHECK(coherent_power_error(0.5, 16.0) == doctest::Approx(std::sqrt(3.0) / 4.0));
  CHECK(unbiased_coherence(0.0, 10.0) == 0.0);
  CHECK(unbiased_coherence(0.5, 16.0) == doctest::Approx(0.5 - 0.25 / 16.0));
}

TEST_CASE("limit of coherence without relation is 1 − α^(1/(n_d − 1))") {
  // The usual formula for unrelated Gaussian records (Carter, Knapp and Nuttall 1973).
  struct Row {
    double averages, at_5_percent;
  };
  constexpr std::array<Row, 8> rows{{{4, 0.6316},
                                     {8, 0.3482},
                                     {10, 0.2831},
                                     {16, 0.1810},
                                     {20, 0.1459},
                                     {32, 0.0921},
                                     {64, 0.0464},
                                     {100, 0.0298}}};
  for (const Row& row : rows) {
    CAPTURE(row.averages);
    CHECK(std::abs(coherence_limit(row.averages, 0.05) - row.at_5_percent) <= 0.00005);
  }
  CHECK(std::abs(coherence_limit(8.0, 0.01) - 0.4821) <= 0.00005);
  CHECK(std::abs(coherence_limit(16.0, 0.01) - 0.2644) <= 0.00005);
  CHECK(std::abs(coherence_limit(32.0, 0.01) - 0.1380) <= 0.00005);
  CHECK(coherence_limit(1.0, 0.05) == 1.0);
}

TEST_CASE("unrelated noise: mean coherence 1/n_d, and the limit is exceeded as often as it says") {
  constexpr std::size_t length = 256;
  for (const std::size_t hop : {length, length / 2}) {
    const std::size_t blocks = hop == length ? 16 : 31;
    double lines = 0.0;
    double sum = 0.0;
    double above = 0.0;
    double averages = 0.0;
    for (std::uint64_t seed = 0; seed < 80; ++seed) {
      const std::size_t samples = length + (blocks - 1) * hop;
      const auto spectrum =
          cross_spectrum(noise(samples, 1.0, 2 * seed + 1), noise(samples, 1.0, 2 * seed + 2),
                         kRate, {WindowKind::hann, length, hop});
      averages = spectrum.effective_averages;
      const auto found = coherence(spectrum);
      for (std::size_t k = 3; k + 3 < found.size(); ++k) {
        sum += found[k];
        above += found[k] > coherence_limit(averages, 0.05) ? 1.0 : 0.0;
        ++lines;
      }
    }
    CAPTURE(hop);
    CHECK(sum / lines == doctest::Approx(1.0 / averages).epsilon(0.08));
    CHECK(above / lines == doctest::Approx(0.05).epsilon(0.25));
  }
}

TEST_CASE("coherence of a gain with noise added is SNR/(1 + SNR)") {
  // Gain 0.8 and noise of rms 0.5 on white input of rms 1: 0.64/(0.64 + 0.25).
  constexpr std::size_t samples = 400'000;
  const auto x = noise(samples, 1.0, 1);
  std::vector<float> y(samples, 0.0F);
  synth_add(y, x, 0.8);
  const auto spectrum =
      cross_spectrum(x, sum_of(y, noise(samples, 0.5, 2)), kRate, {WindowKind::hann, 512, 256});
  CHECK(std::abs(mean_coherence(spectrum) - 0.7191) <= 0.002);
  const auto response = frequency_response(spectrum, 100);
  REQUIRE(response);
  CHECK(std::abs(std::abs(response->value) - 0.8) <= 4.0 * 0.8 * response->relative_error);
  CHECK(response->relative_error == doctest::Approx(0.0129).epsilon(0.15));
  const PowerSpectrum coherent = coherent_output(spectrum);
  CHECK(band_power(coherent, 500.0, 3500.0) ==
        doctest::Approx(0.64 * 3000.0 / 4000.0).epsilon(0.01));
}

TEST_CASE("spread of the estimates is what the formulae say") {
  // 200 records of 16 blocks, true γ² 0.5: s.d. of γ² 0.25·0.5, of |H| 0.1768.
  constexpr std::size_t length = 64;
  std::vector<double> found;
  std::vector<double> gains;
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    const auto x = noise(16 * length, 1.0, 2 * seed + 1);
    const auto spectrum = cross_spectrum(x, sum_of(x, noise(16 * length, 1.0, 2 * seed + 2)), kRate,
                                         {WindowKind::rectangular, length, length});
    const auto lines = coherence(spectrum);
    for (std::size_t k = 4; k < 30; k += 2) {
      found.push_back(lines[k]);
      gains.push_back(std::abs(frequency_response(spectrum, k)->value));
    }
  }
  CHECK(standard_deviation(found) == doctest::Approx(0.125).epsilon(0.1));
  CHECK(standard_deviation(gains) == doctest::Approx(0.1768).epsilon(0.1));
  CHECK(mean(found) == doctest::Approx(0.5 + 0.0156).epsilon(0.02));
}

TEST_CASE("a cross spectrum does not depend on how the audio is cut") {
  const auto x = noise(20'000, 1.0, 1);
  const auto y = sum_of(x, noise(20'000, 1.0, 2));
  const WelchParameters parameters{WindowKind::hann, 512, 200};
  const CrossSpectrum whole = cross_spectrum(x, y, kRate, parameters);
  for (const std::size_t chunk : {std::size_t{1}, std::size_t{333}, std::size_t{7001}}) {
    CrossWelch welch(kRate, parameters);
    for (std::size_t from = 0; from < x.size(); from += chunk) {
      const std::size_t count = std::min(chunk, x.size() - from);
      welch.push(std::span(x).subspan(from, count), std::span(y).subspan(from, count));
    }
    const CrossSpectrum cut = welch.result();
    CHECK(cut.effective_averages == whole.effective_averages);
    CHECK(cut.x == whole.x);
    CHECK(cut.cross == whole.cross);
  }
}

TEST_CASE("auto spectra of a cross spectrum are the averaged spectra of its streams") {
  const auto x = noise(30'000, 1.0, 1);
  const auto y = noise(30'000, 0.1, 2);
  const WelchParameters parameters{WindowKind::blackman_harris, 600, 300};
  const CrossSpectrum both = cross_spectrum(x, y, kRate, parameters);
  const PowerSpectrum alone = welch_spectrum(y, kRate, parameters);
  REQUIRE(both.y.size() == alone.power.size());
  for (std::size_t k = 0; k < alone.power.size(); ++k)
    CHECK(both.y[k] == doctest::Approx(alone.power[k]).epsilon(1e-4));
  CHECK(both.effective_averages == alone.effective_averages);
}

TEST_CASE("what cannot be known of two streams is not made up") {
  CHECK(cross_spectrum({}, {}, kRate, {}).x.empty());
  CHECK(cross_spectrum({}, {}, kRate, {}).effective_averages == 0.0);
  const std::vector<float> silence(20'000, 0.0F);
  const auto spectrum = cross_spectrum(silence, noise(20'000, 1.0, 1), kRate, {});
  for (const double line : coherence(spectrum)) CHECK(line == 0.0);
  CHECK_FALSE(frequency_response(spectrum, 10));
  const std::vector<float> shorter(10, 0.0F);
  CHECK_THROWS_AS(cross_spectrum(silence, shorter, kRate, {}), std::invalid_argument);
  CHECK_THROWS_AS(CrossWelch(0.0, {}), std::invalid_argument);
  CHECK_THROWS_AS(CrossWelch(kRate, {WindowKind::hann, 511, 100}), std::invalid_argument);
}

TEST_CASE("coherence: blocks that reach into what is left out are not averaged") {
  // 2 s that both hear, then 2 s that they do not; blocks of 0.128 s.
  const auto both = noise(32'000, 0.1, 1);
  std::vector<float> x = both;
  std::vector<float> y = both;
  const auto other = noise(16'000, 0.1, 2);
  std::copy(other.begin(), other.end(), y.begin() + 16'000);
  const WelchParameters parameters{WindowKind::hann, 1024, 512};
  CrossWelch all(kRate, parameters);
  all.push(x, y);
  CHECK(mean_coherence(all.result()) < 0.4);  // half of the energy: γ² = 0.25
  CrossWelch half(kRate, parameters, {{2.0, 4.0}});
  for (std::size_t from = 0; from < x.size(); from += 1000)
    half.push(std::span(x).subspan(from, 1000), std::span(y).subspan(from, 1000));
  CHECK(mean_coherence(half.result()) > 0.999);
  CHECK(half.result().effective_averages ==
        doctest::Approx(cross_spectrum(std::span(x).first(16'000), std::span(y).first(16'000),
                                       kRate, parameters)
                            .effective_averages));
  CrossWelch none(kRate, parameters, {{0.0, 4.0}});
  none.push(x, y);
  CHECK(none.result().x.empty());
  CHECK(none.result().effective_averages == 0.0);
}
