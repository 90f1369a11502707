#include "dsp/prominence.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <initializer_list>
#include <numbers>
#include <vector>

#include "tests/dsp/line_spectrum.h"

using namespace howl;
using namespace howl::test;

namespace {

bool near(double actual, double expected, double tolerance) {
  return std::abs(actual - expected) <= tolerance;
}

constexpr double sample_rate = 48000.0;
constexpr double tone_rms = 0.1;
constexpr double noise_rms = 0.05;

/// 16 s of white noise of rms 0.05 over 0 … 24 kHz with sines of rms 0.1.
PowerSpectrum tones_in_noise(std::initializer_list<double> frequencies) {
  Random random(20240501);
  std::vector<float> samples(static_cast<std::size_t>(16.0 * sample_rate));
  for (std::size_t i = 0; i < samples.size(); ++i) {
    double value = noise_rms * draw_normal(random);
    for (const double f : frequencies) {
      const double cycles = f * static_cast<double>(i) / sample_rate;
      value += tone_rms * std::numbers::sqrt2 * std::sin(2.0 * std::numbers::pi * cycles);
    }
    samples[i] = static_cast<float>(value);
  }
  return welch_spectrum(samples, sample_rate, {WindowKind::hann, 32768, 16384});
}

/// Three standard deviations of the level of white noise in a band over 16 s: 3·4.34/√(B·T).
double noise_tolerance(Hertz bandwidth) { return 13.0 / std::sqrt(bandwidth.value * 16.0); }

/// Flat noise of density 1 with lines 1 Hz apart, up to 12 kHz.
PowerSpectrum flat_noise() { return flat_spectrum(12001, 1.0, 1.5, 100.0); }

}  // namespace

TEST_CASE("limits and outer edges follow ECMA-418-1:2024 Formulae 12, 13, 21, 22, 25, 26") {
  struct Row {
    double tone, tnr, pr, lowest, highest;
  };
  constexpr std::array<Row, 12> rows{{{89.1, 16.75, 19.50, 20.0, 242.3},
                                      {100, 16.33, 19.00, 20.0, 253.8},
                                      {160, 14.63, 16.96, 20.0, 317.1},
                                      {200, 13.82, 15.99, 47.9, 359.6},
                                      {250, 13.02, 15.02, 96.4, 413.1},
                                      {400, 11.31, 12.98, 239.9, 575.8},
                                      {500, 10.51, 12.01, 333.7, 686.2},
                                      {630, 9.67, 11.01, 453.7, 832.1},
                                      {800, 8.81, 9.97, 607.1, 1026.8},
                                      {1000, 8.00, 9.00, 782.5, 1261.5},
                                      {2000, 8.00, 9.00, 1586.0, 2519.7},
                                      {4000, 8.00, 9.00, 3099.6, 5208.9}}};
  for (const Row& row : rows) {
    CAPTURE(row.tone);
    const Hertz tone{row.tone};
    CHECK(near(tone_to_noise_limit(tone).value, row.tnr, 0.005));
    CHECK(near(prominence_ratio_limit(tone).value, row.pr, 0.0051));
    CHECK(near(prominence_bands(tone).lower.low.value, row.lowest, 0.051));
    CHECK(near(prominence_bands(tone).upper.high.value, row.highest, 0.051));
  }
}

TEST_CASE("a tone in white noise has the ratios that follow from the definitions") {
  // TNR = 10 lg(a²/(N0·Δf_c)), PR = 10 lg((a² + N0·Δf_M)/(N0·(Δf_L + Δf_U)/2)), N0 = n²/(fs/2)
  // (ECMA-418-1:2024 Formulae 10, 11 and clause 12), worked for a = 0.1, n = 0.05, fs = 48 kHz.
  struct Row {
    double tone, tnr, pr;
  };
  constexpr std::array<Row, 3> rows{
      {{1000, 27.72, 27.83}, {200, 29.70, 29.64}, {2000, 25.04, 24.83}}};
  const PowerSpectrum spectrum = tones_in_noise({200.0, 1000.0, 2000.0});
  for (const Row& row : rows) {
    CAPTURE(row.tone);
    const Hertz tone{row.tone};
    const double tolerance = noise_tolerance(critical_bandwidth(tone));
    const ToneToNoise tnr = tone_to_noise(spectrum, tone, {});
    REQUIRE(tnr.ratio);
    CHECK(near(tnr.ratio->value, row.tnr, tolerance));
    CHECK(tnr.prominent);
    CHECK(tnr.loudest_in_band);
    const Prominence pr = prominence_ratio(spectrum, tone);
    REQUIRE(pr.ratio);
    CHECK(near(pr.ratio->value, row.pr, tolerance));
    CHECK(pr.prominent);
  }
}

TEST_CASE("two equal tones that are heard as one are rated as one") {
  // 1000 and 1030 Hz: 3.01 dB more than one tone alone (ECMA-418-1:2024 Formulae 14 to 16).
  const PowerSpectrum spectrum = tones_in_noise({1000.0, 1030.0});
  const std::array tones{1000.0_hz, 1030.0_hz};
  const ToneToNoise first = tone_to_noise(spectrum, tones[0], tones);
  const ToneToNoise second = tone_to_noise(spectrum, tones[1], tones);
  const ToneToNoise& loudest = first.loudest_in_band ? first : second;
  REQUIRE(loudest.ratio);
  CHECK(first.loudest_in_band != second.loudest_in_band);
  CHECK(near(loudest.ratio->value, 30.73, noise_tolerance(critical_bandwidth(1000.0_hz))));
}

TEST_CASE("tone-to-noise ratio is exact for a tone on a flat floor, wherever between lines it is") {
  for (const double offset : {0.0, 0.25, 0.5}) {
    CAPTURE(offset);
    PowerSpectrum spectrum = flat_noise();
    const Hertz tone{1000.0 + offset};
    add_tone(spectrum, tone.value, 1000.0);
    const auto result = tone_to_noise(spectrum, tone, {});
    REQUIRE(result.ratio);
    // Noise of density 1 in the critical band: 162.2 Hz; 10 lg(1000/162.2) = 7.90 dB.
    const double expected = decibels_of_power(Hertz(1000.0) / critical_bandwidth(tone)).value;
    CHECK(near(result.ratio->value, expected, 0.01));
    CHECK_FALSE(result.prominent);
  }
}

TEST_CASE("a further tone apart from the louder one leaves the noise without joining the tone") {
  // At 300 Hz the critical band is 106 Hz wide and the proximity spacing 22.8 Hz.
  PowerSpectrum spectrum = flat_noise();
  add_tone(spectrum, 300.0, 2000.0);
  const double alone = tone_to_noise(spectrum, 300.0_hz, {}).ratio->value;
  add_tone(spectrum, 340.0, 1000.0);
  const std::array others{340.0_hz};
  const auto result = tone_to_noise(spectrum, 300.0_hz, others);
  REQUIRE(result.ratio);
  CHECK(near(result.ratio->value, alone, 0.02));
  const auto forgotten = tone_to_noise(spectrum, 300.0_hz, {});
  CHECK(forgotten.ratio->value < alone - 5.0);  // 106 Hz of noise against 1106

  const std::array both{300.0_hz, 340.0_hz};
  const auto quieter = tone_to_noise(spectrum, 340.0_hz, both);
  REQUIRE(quieter.ratio);
  CHECK_FALSE(quieter.loudest_in_band);
  const double own = decibels_of_power(Hertz(1000.0) / critical_bandwidth(340.0_hz)).value;
  CHECK(near(quieter.ratio->value, own, 0.02));
}

TEST_CASE("a second tone within the tone band is not counted twice") {
  PowerSpectrum spectrum = flat_noise();
  add_tone(spectrum, 1000.0, 2000.0);
  add_tone(spectrum, 1005.0, 1000.0);
  const std::array tones{1000.0_hz, 1005.0_hz};
  const auto result = tone_to_noise(spectrum, 1000.0_hz, tones);
  REQUIRE(result.ratio);
  const double both = decibels_of_power(Hertz(3000.0) / critical_bandwidth(1000.0_hz)).value;
  CHECK(near(result.ratio->value, both, 0.05));
}

TEST_CASE("a pitch that wanders farther than the tone band keeps its ratio") {
  // A hump of 10 Hz standard deviation, mean square 10^5, where the tone band is ±12 Hz.
  Random random(11);
  constexpr double averages = 60.0;
  PowerSpectrum spectrum = flat_spectrum(12001, 1.0, 1.5, averages);
  for (std::size_t k = 900; k < 1100; ++k) {
    const double x = (static_cast<double>(k) - 1000.0) / 10.0;
    const double density =
        1e5 / (10.0 * std::sqrt(2.0 * std::numbers::pi)) * std::exp(-x * x / 2.0);
    spectrum.power[k] += density * spectrum.noise_bandwidth();
  }
  for (double& power : spectrum.power) {
    power *= draw_chi_square(random, 2.0 * averages) / (2.0 * averages);
  }
  const auto top = std::max_element(spectrum.power.begin(), spectrum.power.end());
  const auto result =
      tone_to_noise(spectrum, Hertz(static_cast<double>(top - spectrum.power.begin())), {});
  REQUIRE(result.ratio);
  const double expected = decibels_of_power(Hertz(1e5) / critical_bandwidth(1000.0_hz)).value;
  CHECK(near(result.ratio->value, expected, 1.0));
}

TEST_CASE("the lower band counts as 100 Hz wide where it is cut at 20 Hz") {
  // ECMA-418-1:2024 Formula 24: flat noise of density 1 without a tone at 120 Hz has
  // P_M = 101.05, P_L = 100, P_U = 275.4 − 170.5, all worked from Tables 2 and 3.
  const PowerSpectrum spectrum = flat_noise();
  const ProminenceBands bands = prominence_bands(120.0_hz);
  const double expected =
      10.0 * std::log10(bands.middle.width().value / ((100.0 + bands.upper.width().value) / 2.0));
  const Prominence result = prominence_ratio(spectrum, 120.0_hz);
  REQUIRE(result.ratio);
  CHECK(near(result.ratio->value, expected, 1e-6));
}

TEST_CASE("what cannot be rated says why") {
  PowerSpectrum spectrum = flat_noise();
  for (const double tone : {30.0, 60.0, 1000.0, 11500.0}) add_tone(spectrum, tone, 1e4);

  SUBCASE("below the range: a number, but not the standard's") {
    const auto result = tone_to_noise(spectrum, 60.0_hz, {});
    CHECK(result.status == ProminenceStatus::outside_range);
    CHECK_FALSE(result.ratio);
    CHECK(result.indicative_ratio);
    CHECK_FALSE(result.prominent);
  }
  SUBCASE("above the range") {
    PowerSpectrum wide = flat_spectrum(20001, 1.0, 1.5, 100.0);
    add_tone(wide, 11500.0, 1e5);
    const auto tnr = tone_to_noise(wide, 11500.0_hz, {});
    CHECK(tnr.status == ProminenceStatus::outside_range);
    CHECK(tnr.indicative_ratio->value > 10.0);
    CHECK_FALSE(tnr.prominent);
    CHECK(prominence_ratio(wide, 11500.0_hz).status == ProminenceStatus::outside_range);
  }
  SUBCASE("the range is 89.1 Hz … 11.2 kHz, as ECMA-418-1:2024 states it") {
    PowerSpectrum wide = flat_spectrum(40001, 0.5, 0.75, 100.0);
    for (const double tone : {89.0, 89.5, 11200.0, 11200.5}) {
      CAPTURE(tone);
      PowerSpectrum with_tone = wide;
      add_tone(with_tone, tone, 1e5);
      const bool in_range = tone > 89.1 && tone <= 11200.0;
      const auto status = in_range ? ProminenceStatus::standard : ProminenceStatus::outside_range;
      CHECK(tone_to_noise(with_tone, Hertz(tone), {}).status == status);
      CHECK(prominence_ratio(with_tone, Hertz(tone)).status == status);
      CHECK(tone_to_noise(with_tone, Hertz(tone), {}).prominent == in_range);
    }
  }
  SUBCASE("band below the first or above the last line") {
    CHECK(tone_to_noise(spectrum, 30.0_hz, {}).status == ProminenceStatus::beyond_spectrum);
    CHECK(tone_to_noise(spectrum, 11500.0_hz, {}).status == ProminenceStatus::beyond_spectrum);
    CHECK(prominence_ratio(spectrum, 11000.0_hz).status == ProminenceStatus::beyond_spectrum);
    CHECK(prominence_ratio(PowerSpectrum{}, 1000.0_hz).status == ProminenceStatus::beyond_spectrum);
  }
  SUBCASE("no peak there") {
    CHECK(tone_to_noise(spectrum, 1006.0_hz, {}).status == ProminenceStatus::no_tone);
  }
  SUBCASE("nothing but the tone") {
    PowerSpectrum silent = flat_spectrum(12001, 1.0, 0.0, 100.0);
    add_tone(silent, 1000.0, 1.0);
    CHECK(tone_to_noise(silent, 1000.0_hz, {}).status == ProminenceStatus::no_noise);
  }
}

TEST_CASE("a spectrum is too coarse when the main lobe is wider than 15 % of the critical band") {
  // Hann: four lines, null to null. 15 % of 162.2 Hz is 24.3 Hz: lines up to 6.08 Hz apart.
  for (const double spacing : {6.0, 6.2}) {
    CAPTURE(spacing);
    PowerSpectrum spectrum = flat_spectrum(1001, spacing, 1.5 * spacing, 100.0);
    const Hertz tone{spacing * std::round(1000.0 / spacing)};
    add_tone(spectrum, tone.value, 1e4);
    const auto result = tone_to_noise(spectrum, tone, {});
    const bool fine = spacing < 6.08;
    CHECK(result.status == (fine ? ProminenceStatus::standard : ProminenceStatus::too_coarse));
    CHECK(result.ratio.has_value() == fine);
    CHECK(result.indicative_ratio.has_value() == !fine);
  }
}
