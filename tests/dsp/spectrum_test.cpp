#include "dsp/spectrum.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <numeric>
#include <stdexcept>
#include <string>
#include <utility>

namespace {

using howl::WelchParameters;
using howl::WindowKind;

constexpr double rate = 8192.0;

std::vector<float> sine(double amplitude, double frequency, std::size_t samples,
                        double phase = 0.4) {
  std::vector<float> values(samples);
  for (std::size_t n = 0; n < samples; ++n) {
    const double turns = frequency * static_cast<double>(n) / rate;
    values[n] = static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * turns + phase));
  }
  return values;
}

std::vector<float> noise(double sigma, std::size_t samples, std::uint64_t seed = 7) {
  howl::Random random(seed);
  std::vector<float> values(samples);
  for (float& value : values) value = static_cast<float>(sigma * howl::draw_normal(random));
  return values;
}

double mean_square(std::span<const float> values) {
  double sum = 0.0;
  for (const float value : values) sum += static_cast<double>(value) * static_cast<double>(value);
  return sum / static_cast<double>(values.size());
}

double mean_density(const howl::PowerSpectrum& spectrum, std::size_t first, std::size_t last) {
  double sum = 0.0;
  for (std::size_t line = first; line <= last; ++line) sum += spectrum.density(line);
  return sum / static_cast<double>(last - first + 1);
}

// Heinzel, Rüdiger, Schilling 2002, §9: "spectrum" scaling divides by (Σw)², so that a sine of
// amplitude A on a line reads A²/2, whatever the window.
TEST_CASE("a sine of amplitude 3 on a line reads 4.5") {
  for (const auto window : {WindowKind::rectangular, WindowKind::hann, WindowKind::blackman_harris,
                            WindowKind::hft95, WindowKind::flat_top5}) {
    CAPTURE(std::string(howl::window_name(window)));
    const auto spectrum = howl::welch_spectrum(sine(3.0, 1000.0, 16384), rate, {window, 2048, 512});
    CHECK(spectrum.position(250) == 1000.0);
    CHECK(spectrum.power[250] == doctest::Approx(4.5).epsilon(1e-5));
  }
}

TEST_CASE("0 Hz and half the sample rate have no mirror image") {
  const std::vector<float> constant(4096, 2.0F);
  const auto at_zero = howl::welch_spectrum(constant, rate, {WindowKind::hann, 1024, 512});
  CHECK(at_zero.power[0] == doctest::Approx(4.0).epsilon(1e-5));  // 2² = its mean square

  std::vector<float> alternating(4096, 2.0F);
  for (std::size_t n = 1; n < alternating.size(); n += 2) alternating[n] = -2.0F;
  const auto at_top = howl::welch_spectrum(alternating, rate, {WindowKind::hann, 1024, 512});
  CHECK(at_top.power.size() == 513);
  CHECK(at_top.power[512] == doctest::Approx(4.0).epsilon(1e-5));
}

// Harris 1978, Table I: a tone half a line off loses the scalloping loss, 1.42 dB for Hann;
// anywhere else it loses what the main lobe says.
TEST_CASE("a sine between lines reads low by the main lobe") {
  for (const auto window : {WindowKind::hann, WindowKind::blackman_harris, WindowKind::hft95}) {
    for (const double off : {0.1, 0.25, 0.5}) {
      CAPTURE(off);
      const auto spectrum =
          howl::welch_spectrum(sine(3.0, (250.0 + off) * 4.0, 16384), rate, {window, 2048, 1024});
      const double lobe = howl::main_lobe(window, off);
      CHECK(spectrum.power[250] == doctest::Approx(4.5 * lobe * lobe).epsilon(1e-4));
    }
  }
  const auto worst =
      howl::welch_spectrum(sine(3.0, 250.5 * 4.0, 16384), rate, {WindowKind::hann, 2048, 1024});
  const double loss_db = 10.0 * std::log10(4.5 / worst.power[250]);
  CHECK(std::abs(loss_db - 1.42) <= 0.005);
}

// Heinzel et al. 2002, §9: density = spectrum/(noise bandwidth in Hz). White noise of σ = 2 sampled
// at 8192 Hz has 4/4096 a Hz. 4000 blocks and 900 lines: relative s.d. about 0.001.
TEST_CASE("white noise has the density σ²/(rate/2)") {
  const auto samples = noise(2.0, 4096 * 512);
  for (const auto window : {WindowKind::rectangular, WindowKind::hann, WindowKind::hft95}) {
    CAPTURE(std::string(howl::window_name(window)));
    const auto spectrum = howl::welch_spectrum(samples, rate, {window, 2048, 1024});
    CHECK(mean_density(spectrum, 50, 950) == doctest::Approx(4.0 / 4096.0).epsilon(0.005));
  }
}

// Heinzel et al. 2002, §9: lines of a Hann spectrum added up read 1.5 times too much (1.761 dB).
TEST_CASE("the plain sum of Hann lines is 1.76 dB too high; band power is not") {
  const auto spectrum =
      howl::welch_spectrum(sine(3.0, 1001.0, 65536), rate, {WindowKind::hann, 2048, 1024});
  const double sum = std::accumulate(&spectrum.power[200], &spectrum.power[301], 0.0);
  CHECK(10.0 * std::log10(sum / 4.5) == doctest::Approx(1.761).epsilon(0.001));
  CHECK(howl::band_power(spectrum, 800.0, 1200.0) == doctest::Approx(4.5).epsilon(1e-4));
}

// Parseval: with a rectangular window and no overlap, the lines hold exactly the signal's power.
TEST_CASE("band power over everything is the mean square") {
  const auto samples = noise(0.7, 64 * 1024);
  const auto plain = howl::welch_spectrum(samples, rate, {WindowKind::rectangular, 1024, 1024});
  const double expected = mean_square(samples);
  CHECK(howl::band_power(plain, 0.0, 4096.0) == doctest::Approx(expected).epsilon(1e-6));
  CHECK(howl::band_power(plain, -5.0, 9999.0) == doctest::Approx(expected).epsilon(1e-6));
}

TEST_CASE("band power counts lines at the edges in part") {
  const howl::PowerSpectrum spectrum{.spacing = 2.0,
                                     .window = WindowKind::hann,
                                     .noise_bandwidth_bins = 1.5,
                                     .effective_averages = 1.0,
                                     .power = {3.0, 6.0, 12.0, 24.0, 9.0}};
  // Line k covers 2k ± 1 Hz; line 0 covers 0…1 and the last 7…8, each with its whole power.
  CHECK(howl::band_power(spectrum, 3.0, 5.0) == doctest::Approx(12.0 / 1.5));
  CHECK(howl::band_power(spectrum, 2.0, 5.5) == doctest::Approx((3.0 + 12.0 + 6.0) / 1.5));
  CHECK(howl::band_power(spectrum, 4.25, 4.75) == doctest::Approx(0.25 * 12.0 / 1.5));
  CHECK(howl::band_power(spectrum, 0.0, 0.5) == doctest::Approx(0.5 * 3.0 / 1.5));
  CHECK(howl::band_power(spectrum, 0.0, 8.0) == doctest::Approx(54.0 / 1.5));
  CHECK(howl::band_power(spectrum, 0.0, 3.0) + howl::band_power(spectrum, 3.0, 6.3) +
            howl::band_power(spectrum, 6.3, 8.0) ==
        doctest::Approx(54.0 / 1.5));
  CHECK(howl::band_power(spectrum, 5.0, 5.0) == 0.0);
  CHECK(howl::band_power(spectrum, 6.0, 5.0) == 0.0);
  CHECK(howl::band_power(spectrum, 9.0, 12.0) == 0.0);
  CHECK_THROWS_AS(howl::band_power(howl::PowerSpectrum{}, 0.0, 1.0), std::invalid_argument);
}

// Harris 1978, §IV: correlation of overlapped Hann blocks 16.7 % at half overlap, 65.9 % at three
// quarters; Blackman-Harris 3.8 % and 46.0 % (quoted from memory; the digits below are arithmetic).
TEST_CASE("overlap correlation") {
  // With K = 2 blocks, n_d = 2/(1 + ρ²).
  const auto correlation = [](WindowKind kind, std::size_t hop) {
    const auto window = howl::make_window(kind, 4096);
    return std::sqrt(2.0 / howl::effective_averages(window, hop, 2) - 1.0);
  };
  CHECK(std::abs(correlation(WindowKind::hann, 2048) - 0.1667) <= 0.00005);
  CHECK(std::abs(correlation(WindowKind::hann, 1024) - 0.6592) <= 0.00005);
  CHECK(std::abs(correlation(WindowKind::blackman_harris, 2048) - 0.0376) <= 0.00005);
  CHECK(std::abs(correlation(WindowKind::blackman_harris, 1024) - 0.4600) <= 0.00005);
}

// P. D. Welch, "The use of fast Fourier transform for the estimation of power spectra", IEEE Trans.
// Audio Electroacoust. 15 (1967): variance of the mean of overlapped blocks. Values by arithmetic.
TEST_CASE("effective averages of a record, Hann") {
  const auto window = howl::make_window(WindowKind::hann, 4096);
  CHECK(howl::effective_averages(window, 4096, 16) == doctest::Approx(16.0));
  CHECK(std::abs(howl::effective_averages(window, 2048, 31) - 29.42) <= 0.005);
  CHECK(std::abs(howl::effective_averages(window, 1024, 61) - 31.96) <= 0.005);
  CHECK(std::abs(howl::effective_averages(window, 2048, 63) - 59.73) <= 0.005);
  CHECK(std::abs(howl::effective_averages(window, 1024, 125) - 65.21) <= 0.005);
  CHECK(howl::effective_averages(window, 1024, 0) == 0.0);
  CHECK(howl::effective_averages(window, 1024, 1) == 1.0);
}

// The same by experiment: the scatter of a line over many records of noise.
TEST_CASE("effective averages predict the scatter of an estimate") {
  constexpr std::size_t blocks = 9;
  constexpr std::size_t records = 400;
  const WelchParameters parameters{WindowKind::hann, 256, 64};
  const std::size_t length = 256 + (blocks - 1) * 64;
  const auto samples = noise(1.0, records * length, 11);
  std::vector<double> lines;
  double predicted = 0.0;
  for (std::size_t record = 0; record < records; ++record) {
    const auto spectrum =
        howl::welch_spectrum(std::span(samples).subspan(record * length, length), rate, parameters);
    predicted = spectrum.effective_averages;
    for (std::size_t line = 4; line < 124; line += 4) lines.push_back(spectrum.power[line]);
  }
  const double relative = howl::standard_deviation(lines) / howl::mean(lines);
  // 12 000 values: the relative s.d. itself is known to about 2 %, n_d to 4 %.
  CHECK(1.0 / (relative * relative) == doctest::Approx(predicted).epsilon(0.1));
}

// J. S. Bendat, A. G. Piersol, Random Data, 4th ed., Eq. 8.158 (ε = 1/√n_d) and 8.163.
TEST_CASE("chi-square factors at 95 %") {
  struct Row {
    double averages, low, high, low_db, high_db;
  };
  for (const Row& row :
       {Row{4, 0.4562, 3.6702, -3.41, 5.65}, Row{8, 0.5547, 2.3163, -2.56, 3.65},
        Row{16, 0.6467, 1.7495, -1.89, 2.43}, Row{32, 0.7272, 1.4620, -1.38, 1.65},
        Row{64, 0.7940, 1.2985, -1.00, 1.13}, Row{100, 0.8297, 1.2290, -0.81, 0.90}}) {
    CAPTURE(row.averages);
    const auto factors = howl::chi_square_factors(row.averages, 0.95);
    CHECK(std::abs(factors.low - row.low) <= 0.00005);
    CHECK(std::abs(factors.high - row.high) <= 0.00005);
    CHECK(std::abs(10.0 * std::log10(factors.low) - row.low_db) <= 0.006);
    CHECK(std::abs(10.0 * std::log10(factors.high) - row.high_db) <= 0.006);
  }
}

TEST_CASE("95 % of the intervals hold the truth") {
  const WelchParameters parameters{WindowKind::hann, 256, 128};
  const std::size_t length = 128 * 17;
  const auto samples = noise(1.0, 500 * length, 3);
  const double truth = 2.0 / rate;
  int held = 0;
  int tried = 0;
  for (std::size_t record = 0; record < 500; ++record) {
    const auto spectrum =
        howl::welch_spectrum(std::span(samples).subspan(record * length, length), rate, parameters);
    const auto factors = howl::chi_square_factors(spectrum.effective_averages, 0.95);
    for (std::size_t line = 4; line < 124; line += 8, ++tried) {
      const double density = spectrum.density(line);
      held += howl::Interval{factors.low * density, factors.high * density}.contains(truth) ? 1 : 0;
    }
  }
  // 7500 tries: s.d. of the share 0.25 %.
  CHECK(std::abs(static_cast<double>(held) / tried - 0.95) <= 0.01);
}

/// Density through a rectangular band as wide as a line, at the peak of a resonance of half-power
/// bandwidth `half_power`, re the true peak.
double smoothed_peak(double line_width, double half_power) {
  double sum = 0.0;
  constexpr int steps = 2000;
  for (int i = 0; i < steps; ++i) {
    const double off = line_width * ((i + 0.5) / steps - 0.5);
    sum += 1.0 / (1.0 + 4.0 * off * off / (half_power * half_power));
  }
  return sum / steps;
}

// Bendat & Piersol, Random Data, 4th ed., Eq. 8.141: at a resonance of half-power bandwidth B_r, a
// resolution B_e biases the peak by −(B_e/B_r)²/3; a quarter gives −1/48. First the oracle against
// the integral it stands for, then our spectrum of noise through a resonance.
TEST_CASE("resolution bias at a resonance") {
  CHECK(smoothed_peak(0.25, 1.0) - 1.0 == doctest::Approx(-1.0 / 48.0).epsilon(0.05));

  // Two-pole resonator at 1024 Hz with B_r = 64 Hz, rectangular lines 16 Hz wide.
  const double radius = std::exp(-std::numbers::pi * 64.0 / rate);
  const double turn = 2.0 * std::numbers::pi * 1024.0 / rate;
  auto samples = noise(1.0, 512 * 8192, 21);
  double y1 = 0.0;
  double y2 = 0.0;
  for (float& sample : samples) {
    const double y =
        static_cast<double>(sample) + 2.0 * radius * std::cos(turn) * y1 - radius * radius * y2;
    y2 = std::exchange(y1, y);
    sample = static_cast<float>(y);
  }
  const auto spectrum = howl::welch_spectrum(samples, rate, {WindowKind::hann, 512, 256});
  const auto z = std::polar(1.0, -turn);
  const auto response = 1.0 / (1.0 - 2.0 * radius * std::cos(turn) * z + radius * radius * z * z);
  const double bias = spectrum.density(64) / (2.0 / rate * std::norm(response)) - 1.0;
  // Hann's lobe has the second moment of a rectangle: (B_e/B_r)²/3 with ∫f²|W|² = B_e²/12 for B_e =
  // 2·spacing (∫f²|W|²/∫|W|² = (∫w'²/∫w²)/(2πT)² = (4π²/3)/(4π²) = 1/3 spacing²). So B_e = 32 Hz,
  // B_e/B_r = ½, and the first-order bias is −1/12; the next term makes it smaller.
  CHECK(bias == doctest::Approx(-1.0 / 12.0).epsilon(0.35));
  CHECK(bias < -0.04);
}

TEST_CASE("the spectrum does not depend on the chunks") {
  const auto samples = noise(1.0, 50'000);
  const WelchParameters parameters{WindowKind::hann, 1000, 333};
  const auto whole = howl::welch_spectrum(samples, rate, parameters);
  for (const std::size_t chunk : {1U, 7U, 333U, 1000U, 4096U, 49'999U}) {
    CAPTURE(chunk);
    howl::WelchSpectrum spectrum(rate, parameters);
    for (std::size_t at = 0; at < samples.size(); at += chunk) {
      spectrum.push(std::span(samples).subspan(at, std::min(chunk, samples.size() - at)));
      if (at % 5 == 0 && chunk > 300) (void)spectrum.result();  // looking changes nothing
    }
    CHECK(spectrum.blocks() == (50'000 - 1000) / 333 + 1);
    CHECK(spectrum.result().power == whole.power);
  }
}

TEST_CASE("without a whole block there is nothing to say") {
  howl::WelchSpectrum spectrum(rate, {WindowKind::hann, 1024, 512});
  CHECK(spectrum.result().power.empty());
  spectrum.push(noise(1.0, 1023));
  CHECK(spectrum.blocks() == 0);
  CHECK(spectrum.result().power.empty());
  CHECK(spectrum.result().effective_averages == 0.0);
  spectrum.push(noise(1.0, 1));
  CHECK(spectrum.blocks() == 1);
  CHECK(spectrum.result().power.size() == 513);
  CHECK(spectrum.result().effective_averages == 1.0);
}

TEST_CASE("parameters that make no spectrum are refused") {
  CHECK_THROWS_AS(howl::WelchSpectrum(rate, {WindowKind::hann, 1023, 512}), std::invalid_argument);
  CHECK_THROWS_AS(howl::WelchSpectrum(rate, {WindowKind::hann, 1024, 0}), std::invalid_argument);
  CHECK_THROWS_AS(howl::WelchSpectrum(rate, {WindowKind::hann, 1024, 1025}), std::invalid_argument);
  CHECK_THROWS_AS(howl::WelchSpectrum(0.0, {WindowKind::hann, 1024, 512}), std::invalid_argument);
}

}  // namespace
