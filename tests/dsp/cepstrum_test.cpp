#include "dsp/cepstrum.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <numeric>
#include <stdexcept>
#include <vector>

#include "dsp/noise_floor.h"

using namespace howl;

namespace {

constexpr std::size_t kSize = 1024;

/// |1 + a·exp(−iωd)|² at the lines of a transform of kSize samples.
std::vector<double> echo_power(double a, double delay) {
  std::vector<double> power;
  for (std::size_t k = 0; k <= kSize / 2; ++k) {
    const double angle = 2.0 * std::numbers::pi * static_cast<double>(k) * delay / kSize;
    power.push_back(std::norm(1.0 + a * std::polar(1.0, -angle)));
  }
  return power;
}

/// Averaged noise with lines at multiples of `base` that stand `over` times over it.
PowerSpectrum family_spectrum(double base, double over, std::uint64_t seed) {
  constexpr double averages = 12.0;
  Random random(seed);
  PowerSpectrum spectrum{.spacing = 1.0 / 32.0,
                         .window = WindowKind::hann,
                         .noise_bandwidth_bins = 1.5,
                         .effective_averages = averages,
                         .power = {}};
  for (int k = 0; k < 1600; ++k)
    spectrum.power.push_back(draw_chi_square(random, 2.0 * averages) / (2.0 * averages));
  for (double order = base; order < 49.0; order += base)
    for (std::size_t k = 0; k < spectrum.power.size(); ++k) {
      const double off = 32.0 * order - static_cast<double>(k);
      if (std::abs(off) < 2.0)
        spectrum.power[k] += over * std::pow(main_lobe(WindowKind::hann, off), 2);
    }
  return spectrum;
}

std::optional<FamilySpacing> spacing_of(const PowerSpectrum& spectrum) {
  return find_family_spacing(spectrum, noise_floor(spectrum, 3.0),
                             std::vector<bool>(spectrum.power.size(), false),
                             {.spacings = {0.6, 15.0}, .lines = {0.6, 49.0}});
}

}  // namespace

TEST_CASE("cepstrum of an echo of strength 0.4: 0.4, -0.08, 0.021333, -0.0064 at its multiples") {
  // Series of ln(1 + a z^-d); worked by hand: (−1)^(k+1)·0.4^k/k.
  const std::vector<double> power = echo_power(0.4, 40.0);
  const std::vector<double> cepstrum = power_cepstrum(power);
  REQUIRE(cepstrum.size() == kSize / 2 + 1);
  CHECK(cepstrum[40] == doctest::Approx(0.4).epsilon(1e-5));
  CHECK(cepstrum[80] == doctest::Approx(-0.08).epsilon(1e-4));
  CHECK(cepstrum[120] == doctest::Approx(0.021333).epsilon(1e-4));
  CHECK(cepstrum[160] == doctest::Approx(-0.0064).epsilon(1e-3));
  double sum = 0.0;
  for (std::size_t k = 40; k < 512; k += 40) sum += cepstrum[k];
  CHECK(sum == doctest::Approx(std::log(1.4)).epsilon(1e-4));
  for (const std::size_t elsewhere : {0, 1, 20, 39, 41, 100})
    CHECK(std::abs(cepstrum[elsewhere]) < 1e-6);
  CHECK(real_cepstrum(power)[40] == doctest::Approx(0.2).epsilon(1e-5));
  const auto [low, high] = std::minmax_element(power.begin(), power.end());
  CHECK(10.0 * std::log10(*high) == doctest::Approx(2.923).epsilon(1e-3));
  CHECK(10.0 * std::log10(*low) == doctest::Approx(-4.437).epsilon(1e-2));
}

TEST_CASE("a spectrum with an empty line has no cepstrum") {
  CHECK_THROWS_AS(power_cepstrum(std::vector<double>{1.0, 0.0, 1.0}), std::invalid_argument);
}

TEST_CASE("the spacing of a family is found in noise, and its interval holds it") {
  int found = 0;
  int inside = 0;
  for (std::uint64_t seed = 0; seed < 30; ++seed) {
    const double base = 2.0 + 0.083 * static_cast<double>(seed);
    const auto family = spacing_of(family_spectrum(base, 20.0, seed));
    if (!family) continue;
    found += std::abs(family->spacing / base - 1.0) < 0.01;
    inside += std::abs(family->spacing - base) < 2.5 * family->sigma;
    CHECK(family->false_alarm < 0.01);
  }
  MESSAGE("found ", found, " of 30, in the interval ", inside);
  CHECK(found >= 28);
  CHECK(inside >= 26);
}

TEST_CASE("noise has no family spacing in 98 of 100 spectra or more") {
  int found = 0;
  for (std::uint64_t seed = 100; seed < 200; ++seed)
    found += spacing_of(family_spectrum(1000.0, 0.0, seed)).has_value();
  CHECK(found <= 2);
}
