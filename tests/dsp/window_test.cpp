#include "dsp/window.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numeric>
#include <stdexcept>
#include <string>
#include <vector>

namespace {

using howl::WindowKind;

constexpr std::size_t length = 1024;

/// Classic windows: F. J. Harris, "On the use of windows for harmonic analysis with the discrete
/// Fourier transform", Proc. IEEE 66 (1978), Table I, which prints the noise bandwidth to 0.01.
/// The others: G. Heinzel, A. Rüdiger, R. Schilling, "Spectrum and spectral density estimation by
/// the DFT" (2002), appendix C, which prints it to 0.0001. `published` is what is printed there.
/// The remaining columns are arithmetic on the published coefficients at 1024 samples.
struct Published {
  WindowKind kind;
  double published_bandwidth;
  double published_to;
  double coherent_gain;
  double noise_bandwidth;
  double scalloping_db;
  double width_3db;
  double worst_case_loss_db;
};

constexpr Published published[] = {
    {WindowKind::rectangular, 1.00, 0.005, 1.0000, 1.0000, 3.9224, 0.8845, 3.92},
    {WindowKind::hann, 1.50, 0.005, 0.5000, 1.5000, 1.4236, 1.4382, 3.18},
    {WindowKind::hamming, 1.36, 0.005, 0.5400, 1987.0 / 1458.0, 1.7514, 1.3008, 3.10},
    {WindowKind::blackman, 1.73, 0.005, 0.4200, 1523.0 / 882.0, 1.0989, 1.6409, 3.47},
    {WindowKind::blackman_harris, 2.0044, 0.00005, 0.3588, 2.0044, 0.8256, 1.8962, 3.85},
    {WindowKind::nuttall4c, 1.9761, 0.00005, 0.3636, 1.9761, 0.8506, 1.8687, 3.81},
    {WindowKind::sft3f, 3.1681, 0.00005, 0.2653, 3.1681, 0.0082, 3.1503, 5.02},
    {WindowKind::sft5m, 3.8852, 0.00005, 0.2097, 3.8852, 0.0039, 3.8340, 5.90},
    {WindowKind::hft70, 3.4129, 0.00005, 1.0, 3.4129, 0.0065, 3.3721, 5.34},
    {WindowKind::hft90d, 3.8832, 0.00005, 1.0, 3.8832, 0.0039, 3.8321, 5.90},
    {WindowKind::hft95, 3.8112, 0.00005, 1.0, 3.8112, 0.0039, 3.7592, 5.81},
    {WindowKind::hft116d, 4.2186, 0.00005, 1.0, 4.2186, 0.0028, 4.1579, 6.25},
    {WindowKind::hft144d, 4.5386, 0.00005, 1.0, 4.5386, 0.0021, 4.4698, 6.57},
    // Not in either paper; coefficients as in ISO 18431-2 (from memory), figures by arithmetic.
    {WindowKind::flat_top5, 3.7702, 0.00005, 0.2156, 3.7702, 0.0098, 3.7210, 5.77},
};

TEST_CASE("cosine windows have the published figures") {
  for (const auto& row : published) {
    CAPTURE(std::string(howl::window_name(row.kind)));
    const auto figures = howl::window_figures(howl::make_window(row.kind, length));
    CHECK(std::abs(figures.noise_bandwidth_bins - row.published_bandwidth) <= row.published_to);
    CHECK(std::abs(figures.coherent_gain - row.coherent_gain) <= 0.00005);
    CHECK(std::abs(figures.noise_bandwidth_bins - row.noise_bandwidth) <= 0.00005);
    CHECK(std::abs(figures.scalloping_db - row.scalloping_db) <= 0.00005);
    CHECK(std::abs(figures.width_3db_bins - row.width_3db) <= 0.00005);
    CHECK(std::abs(figures.worst_case_loss_db - row.worst_case_loss_db) <= 0.005);
  }
}

/// Highest side lobe of a window by its samples, beyond `from` bins: |Σ w·exp(−2πi·bins·n/N)| re
/// that at 0.
double highest_side_lobe_db(const std::vector<double>& window, double from) {
  double highest = 0.0;
  for (double bins = from; bins < from + 6.0; bins += 0.02) {
    std::complex<double> sum;
    for (std::size_t n = 0; n < window.size(); ++n)
      sum += window[n] * std::polar(1.0, -2.0 * M_PI * bins * static_cast<double>(n) /
                                             static_cast<double>(window.size()));
    highest = std::max(highest, std::abs(sum));
  }
  return 20.0 * std::log10(highest / std::accumulate(window.begin(), window.end(), 0.0));
}

// Noise bandwidth as in Harris 1978, Table I: quoted from memory (1.50, 1.65, 1.80, 1.93). The
// finer figures are arithmetic.
TEST_CASE("Kaiser windows") {
  struct Row {
    double alpha, from_memory, coherent_gain, noise_bandwidth, scalloping_db, width_3db, loss_db,
        side_lobe_db;
  };
  for (const Row& row : {Row{2.0, 1.50, 0.4892, 1.4963, 1.4527, 1.4270, 3.20, -45.9},
                         Row{2.5, 1.65, 0.4396, 1.6519, 1.2010, 1.5701, 3.38, -57.6},
                         Row{3.0, 1.80, 0.4025, 1.7952, 1.0226, 1.7025, 3.56, -69.8},
                         Row{3.5, 1.93, 0.3735, 1.9284, 0.8900, 1.8258, 3.74, -82.0}}) {
    CAPTURE(row.alpha);
    const auto figures = howl::window_figures(howl::make_kaiser_window(row.alpha, length));
    CHECK(std::abs(figures.noise_bandwidth_bins - row.from_memory) <= 0.005);
    CHECK(std::abs(figures.coherent_gain - row.coherent_gain) <= 0.00005);
    CHECK(std::abs(figures.noise_bandwidth_bins - row.noise_bandwidth) <= 0.00005);
    CHECK(std::abs(figures.scalloping_db - row.scalloping_db) <= 0.00005);
    CHECK(std::abs(figures.width_3db_bins - row.width_3db) <= 0.00005);
    CHECK(std::abs(figures.worst_case_loss_db - row.loss_db) <= 0.005);
    // The main lobe ends at √(1 + α²) bins.
    CHECK(std::abs(highest_side_lobe_db(howl::make_kaiser_window(row.alpha, length),
                                        std::hypot(1.0, row.alpha)) -
                   row.side_lobe_db) <= 0.2);
  }
}

TEST_CASE("a Kaiser window of alpha 0 is rectangular") {
  CHECK(howl::make_kaiser_window(0.0, 16) == howl::make_window(WindowKind::rectangular, 16));
}

/// Highest level beyond `from` bins, re the main lobe.
double highest_side_lobe_db(WindowKind kind, double from) {
  double highest = 0.0;
  for (double bins = from; bins < from + 40.0; bins += 0.01) {
    highest = std::max(highest, std::abs(howl::main_lobe(kind, bins)));
  }
  return 20.0 * std::log10(highest);
}

// Heinzel et al. 2002, appendix C: the number in the name of an HFT window is its side-lobe level.
// Harris 1978, Table I: rectangular −13, Hann −32 (−31.5 by arithmetic), Blackman −58.
TEST_CASE("side lobes of the analytic spectrum") {
  // The main lobe of a sum of cosines up to j ends at j + 1 bins.
  CHECK(std::abs(highest_side_lobe_db(WindowKind::rectangular, 1.0) - -13.3) <= 0.05);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::hann, 2.0) - -31.5) <= 0.05);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::hamming, 2.0) - -42.7) <= 0.05);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::blackman, 3.0) - -58.1) <= 0.05);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::blackman_harris, 4.0) - -92.0) <= 0.1);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::nuttall4c, 4.0) - -98.2) <= 0.1);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::sft3f, 3.0) - -31.7) <= 0.1);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::sft5m, 5.0) - -90.1) <= 0.25);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::flat_top5, 5.0) - -93.0) <= 0.15);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::hft70, 4.0) - -70.4) <= 0.1);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::hft90d, 5.0) - -90.2) <= 0.1);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::hft95, 5.0) - -95.0) <= 0.1);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::hft116d, 6.0) - -116.8) <= 0.1);
  CHECK(std::abs(highest_side_lobe_db(WindowKind::hft144d, 7.0) - -144.0) <= 0.15);
}

// Heinzel et al. 2002, appendix C, as printed for HFT95: at most 0.0044 dB off within half a bin,
// more than at the half bin itself (0.0039).
TEST_CASE("a flat top of HFT95 is flat within 0.0044 dB") {
  double largest = 0.0;
  for (double bins = 0.0; bins <= 0.5; bins += 0.001)
    largest =
        std::max(largest, std::abs(20.0 * std::log10(howl::main_lobe(WindowKind::hft95, bins))));
  CHECK(std::abs(largest - 0.0044) <= 0.00005);
}

TEST_CASE("the analytic main lobe is the spectrum of a long window") {
  for (const auto& row : published) {
    CAPTURE(std::string(howl::window_name(row.kind)));
    CHECK(howl::main_lobe(row.kind, 0.0) == doctest::Approx(1.0));
    CHECK(howl::main_lobe(row.kind, -0.3) == doctest::Approx(howl::main_lobe(row.kind, 0.3)));
    const double half_bin_db = -20.0 * std::log10(howl::main_lobe(row.kind, 0.5));
    CHECK(std::abs(half_bin_db - row.scalloping_db) <= 0.0001);
    const double edge = howl::main_lobe(row.kind, 0.5 * row.width_3db);
    CHECK(edge * edge == doctest::Approx(std::pow(10.0, -0.3)).epsilon(0.0001));
  }
  // By hand: Hann at 1 bin is ½·a1/a0 = ½; rectangular at ½ bin is 2/π.
  CHECK(howl::main_lobe(WindowKind::hann, 1.0) == doctest::Approx(0.5));
  CHECK(howl::main_lobe(WindowKind::rectangular, 0.5) == doctest::Approx(2.0 / M_PI));
}

TEST_CASE("windows are periodic, with the peak at half the length") {
  const auto hann = howl::make_window(WindowKind::hann, 8);
  CHECK(hann.front() == doctest::Approx(0.0));
  CHECK(hann[4] == doctest::Approx(1.0));
  CHECK(hann[1] == doctest::Approx(hann[7]));
  // Heinzel et al. 2002 give the HFT windows unscaled, with mean 1; the peak is the coefficients'
  // sum.
  const auto flat = howl::make_window(WindowKind::hft70, 512);
  CHECK(flat[256] == doctest::Approx(1.0 + 1.90796 + 1.07349 + 0.18199));
  CHECK(std::accumulate(flat.begin(), flat.end(), 0.0) / 512.0 == doctest::Approx(1.0));
}

TEST_CASE("windows that cannot be are refused") {
  CHECK_THROWS_AS(howl::make_window(WindowKind::hann, 0), std::invalid_argument);
  CHECK_THROWS_AS(howl::make_kaiser_window(-1.0, 8), std::invalid_argument);
  CHECK_THROWS_AS(howl::window_figures({}), std::invalid_argument);
  CHECK_THROWS_AS(howl::window_figures(std::vector<double>{1.0, -1.0}), std::invalid_argument);
  CHECK(howl::window_figures(std::vector<double>{2.0}).noise_bandwidth_bins == 1.0);
}

}  // namespace
