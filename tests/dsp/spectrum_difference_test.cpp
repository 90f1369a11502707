#include "dsp/spectrum_difference.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "dsp/statistics.h"

using namespace howl;

namespace {

constexpr double kRateOfDifference = 16000;

/// A sine at 1000 Hz with a peak of `peak` in noise of `noise` rms.
PowerSpectrum spectrum_of(double peak, double noise, std::size_t length, std::uint64_t seed) {
  Random random(seed);
  std::vector<float> samples(static_cast<std::size_t>(8 * kRateOfDifference));
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = static_cast<float>(
        peak * std::sin(2 * std::numbers::pi * 1000 * static_cast<double>(i) / kRateOfDifference) +
        noise * draw_normal(random));
  return welch_spectrum(samples, kRateOfDifference, {WindowKind::hann, length, length / 2});
}

double mean_db(const SpectrumDifference& difference, double low, double high) {
  double sum = 0;
  std::size_t count = 0;
  for (std::size_t line = 0; line < difference.lines(); ++line) {
    const double hz = static_cast<double>(line) * difference.spacing();
    if (hz < low || hz > high) continue;
    sum += difference.db(line).value();
    ++count;
  }
  return sum / static_cast<double>(count);
}

}  // namespace

TEST_CASE("a spectrum less itself is 0 dB at every line") {
  const PowerSpectrum one = spectrum_of(0.1, 0.01, 4096, 1);
  const SpectrumDifference difference(one, one);
  REQUIRE(difference.lines() == one.power.size());
  for (std::size_t line = 0; line < difference.lines(); ++line)
    CHECK(difference.db(line).value() == 0.0);
}

TEST_CASE("ten times the amplitude is 20 dB more, and less the other way round") {
  PowerSpectrum loud = spectrum_of(0.1, 0.01, 4096, 1);
  const PowerSpectrum faint = loud;
  for (double& power : loud.power) power *= 100;  // 10 lg 100 = 20
  CHECK(SpectrumDifference(loud, faint).db(256).value() == doctest::Approx(20));
  CHECK(SpectrumDifference(faint, loud).db(256).value() == doctest::Approx(-20));
}

TEST_CASE("two resolutions show the same sound alike: tone and noise by 0 dB") {
  const PowerSpectrum fine = spectrum_of(0.1, 0.01, 8192, 1);
  const PowerSpectrum coarse = spectrum_of(0.1, 0.01, 2048, 1);
  for (const bool turned : {false, true}) {
    const SpectrumDifference difference(turned ? coarse : fine, turned ? fine : coarse);
    CHECK(difference.spacing() == kRateOfDifference / 2048);
    CHECK(difference.resolution() == 4 * kRateOfDifference / 2048);
    CHECK(difference.db(128).value() == doctest::Approx(0).epsilon(0.1).scale(1));  // 1000 Hz
    CHECK(std::abs(mean_db(difference, 2000, 7000)) < 0.1);
  }
}

TEST_CASE("where a side is silent, or beyond what both reach, there is no difference") {
  PowerSpectrum one = spectrum_of(0.1, 0.01, 4096, 1);
  PowerSpectrum other = one;
  other.power[100] = 0;
  const SpectrumDifference difference(one, other);
  CHECK_FALSE(difference.db(100));
  CHECK(difference.db(101));
  CHECK_FALSE(difference.db(one.power.size()));
  other.power.clear();
  CHECK(SpectrumDifference(one, other).lines() == 0);
}

TEST_CASE("what hand, probe and averaging leave unexplained grows with fewer averages") {
  PowerSpectrum one;
  one.effective_averages = 1e9;  // nothing is left open by averaging: 1.96·√2·2 dB
  CHECK(unexplained_difference_db(one, one, 2.0) == doctest::Approx(1.96 * 2.8284).epsilon(0.001));
  one.effective_averages = 10;  // 4.343²/10 = 1.886 each: 1.96·√(8 + 3.772)
  CHECK(unexplained_difference_db(one, one, 2.0) == doctest::Approx(6.725).epsilon(0.001));
}
