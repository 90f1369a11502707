#include "dsp/noise_floor.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "tests/dsp/line_spectrum.h"

using namespace howl;
using namespace howl::test;

namespace {

/// Independent lines of noise: chi-square with 2·averages degrees of freedom, mean 1.
PowerSpectrum speckle(std::size_t lines, double averages, Random& random) {
  PowerSpectrum spectrum = flat_spectrum(lines, 1.0, 0.0, averages);
  for (double& power : spectrum.power) {
    power = draw_chi_square(random, 2.0 * averages) / (2.0 * averages);
  }
  return spectrum;
}

double mean_of(const std::vector<double>& values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

}  // namespace

TEST_CASE("the floor is the mean of the noise for any number of averages") {
  Random random(7);
  for (const double averages : {1.0, 4.5, 60.0}) {
    CAPTURE(averages);
    const auto floor = noise_floor(speckle(20000, averages, random), 200.0);
    CHECK(mean_of(floor) == doctest::Approx(1.0).epsilon(0.03));
    // 201 lines: the median scatters by 1.25/√(201·n_d), and by 5 of those at the very most.
    const auto [low, high] = std::ranges::minmax(floor);
    CHECK(low > 1.0 - 0.5 / std::sqrt(averages));
    CHECK(high < 1.0 + 0.5 / std::sqrt(averages));
  }
}

TEST_CASE("tones on half of the lines leave the floor where it is") {
  Random random(8);
  PowerSpectrum spectrum = speckle(4000, 30.0, random);
  for (double tone = 10.0; tone < 3990.0; tone += 10.0) add_tone(spectrum, tone, 1000.0);
  const auto floor = noise_floor(spectrum, 200.0);
  CHECK(std::abs(10.0 * std::log10(mean_of(floor))) < 0.5);
}

TEST_CASE("the floor follows a slope") {
  PowerSpectrum spectrum = flat_spectrum(4001, 1.0, 0.0, 1000.0);
  for (std::size_t k = 0; k < spectrum.power.size(); ++k) {
    spectrum.power[k] = std::pow(10.0, -static_cast<double>(k) / 400.0);  // 10 dB in 400 lines
  }
  const auto floor = noise_floor(spectrum, 100.0);
  for (std::size_t k = 200; k < 3800; k += 300) {
    CHECK(floor[k] == doctest::Approx(spectrum.power[k]).epsilon(0.02));
  }
}

TEST_CASE("without a width the neighbourhood is the critical band") {
  // A step at 4 kHz, where the critical band is 685 Hz wide: 300 Hz off, it is not felt.
  PowerSpectrum spectrum = flat_spectrum(8001, 1.0, 1.0, 1000.0);
  std::fill(spectrum.power.begin() + 4000, spectrum.power.end(), 2.0);
  const auto floor = noise_floor(spectrum, std::nullopt);
  CHECK(floor[3600] == doctest::Approx(1.0).epsilon(0.01));
  CHECK(floor[4450] == doctest::Approx(2.0).epsilon(0.01));
}

TEST_CASE("the floor stops where rounding begins, and nothing has no floor") {
  PowerSpectrum silent = flat_spectrum(500, 1.0, 0.0, 10.0);
  add_tone(silent, 250.0, 1.0);
  CHECK(std::ranges::all_of(noise_floor(silent, 50.0), [](double f) { return f > 0.0; }));
  CHECK(noise_floor(PowerSpectrum{}, 50.0).empty());
}
