#include "dsp/window.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <numeric>
#include <stdexcept>

#include "dsp/special_functions.h"

namespace howl {
namespace {

constexpr double pi = std::numbers::pi;

struct CosineSum {
  WindowKind kind;
  std::string_view name;
  /// w(t) = Σ (−1)^j a_j cos(2πjt), 0 ≤ t < 1. None is 0 before the last.
  std::array<double, 7> coefficients;

  std::size_t terms() const {
    return static_cast<std::size_t>(std::ranges::find(coefficients, 0.0) - coefficients.begin());
  }
};

/// Harris 1978, Table I, for the classic windows; Heinzel, Rüdiger, Schilling 2002, appendix C, for
/// Nuttall's, SFT and HFT. The five-term flat top is ISO 18431-2's, scaled to 1 (from memory).
constexpr std::array table{
    CosineSum{WindowKind::rectangular, "rectangular", {1.0}},
    CosineSum{WindowKind::hann, "hann", {0.5, 0.5}},
    CosineSum{WindowKind::hamming, "hamming", {0.54, 0.46}},
    CosineSum{WindowKind::blackman, "blackman", {0.42, 0.5, 0.08}},
    CosineSum{WindowKind::blackman_harris, "blackman-harris", {0.35875, 0.48829, 0.14128, 0.01168}},
    CosineSum{WindowKind::nuttall4c, "nuttall4c", {0.3635819, 0.4891775, 0.1365995, 0.0106411}},
    CosineSum{WindowKind::sft3f, "sft3f", {0.26526, 0.5, 0.23474}},
    CosineSum{WindowKind::sft5m, "sft5m", {0.209671, 0.407331, 0.281225, 0.092669, 0.0091036}},
    CosineSum{WindowKind::hft70, "hft70", {1.0, 1.90796, 1.07349, 0.18199}},
    CosineSum{WindowKind::hft90d, "hft90d", {1.0, 1.942604, 1.340318, 0.440811, 0.043097}},
    CosineSum{WindowKind::hft95, "hft95", {1.0, 1.9383379, 1.3045202, 0.4028270, 0.0350665}},
    CosineSum{WindowKind::hft116d,
              "hft116d",
              {1.0, 1.9575375, 1.4780705, 0.6367431, 0.1228389, 0.0066288}},
    CosineSum{WindowKind::hft144d,
              "hft144d",
              {1.0, 1.96760033, 1.57983607, 0.81123644, 0.22583558, 0.02773848, 0.00090360}},
    CosineSum{WindowKind::flat_top5,
              "flat-top5",
              {0.21557895, 0.41663158, 0.277263158, 0.083578947, 0.006947368}},
};

const CosineSum& row(WindowKind kind) {
  const auto found = std::find_if(table.begin(), table.end(),
                                  [&](const CosineSum& window) { return window.kind == kind; });
  if (found == table.end()) throw std::invalid_argument("no such window");
  return *found;
}

void require_length(std::size_t length) {
  if (length == 0) throw std::invalid_argument("a window needs at least one sample");
}

/// Sum of the samples, which every scaling divides by.
double tone_sum(std::span<const double> window) {
  require_length(window.size());
  const double sum = std::accumulate(window.begin(), window.end(), 0.0);
  if (sum == 0.0) throw std::invalid_argument("a window whose sum is 0 passes no tone");
  return sum;
}

double cosine_sum(const CosineSum& window, double t) {
  double sum = window.coefficients[0];
  double sign = -1.0;
  for (std::size_t j = 1; j < window.terms(); ++j, sign = -sign) {
    sum += sign * window.coefficients[j] * std::cos(2.0 * pi * static_cast<double>(j) * t);
  }
  return sum;
}

/// |Σ w[n]·exp(−2πi·bins·n/N)|², by turning one phasor.
double spectrum_power(std::span<const double> window, double bins) {
  const std::complex<double> step =
      std::polar(1.0, -2.0 * pi * bins / static_cast<double>(window.size()));
  std::complex<double> phasor = 1.0;
  std::complex<double> sum = 0.0;
  for (const double w : window) {
    sum += w * phasor;
    phasor *= step;
  }
  return std::norm(sum);
}

/// Half the main lobe's width at −3 dB, in bins: outward in steps of 1/16 bin, then bisection.
double three_decibel_point(std::span<const double> window, double peak) {
  const auto above = [&](double bins) {
    return spectrum_power(window, bins) > std::pow(10.0, -0.3) * peak;
  };
  const double end = 0.5 * static_cast<double>(window.size());
  double inside = 0.0;
  double outside = 0.0625;
  while (outside < end && above(outside)) {
    inside = outside;
    outside += 0.0625;
  }
  if (outside >= end) return end;
  for (int step = 0; step < 40; ++step) {
    const double middle = 0.5 * (inside + outside);
    (above(middle) ? inside : outside) = middle;
  }
  return 0.5 * (inside + outside);
}

}  // namespace

std::vector<double> make_window(WindowKind kind, std::size_t length) {
  require_length(length);
  const CosineSum& window = row(kind);
  std::vector<double> samples(length);
  for (std::size_t n = 0; n < length; ++n) {
    samples[n] = cosine_sum(window, static_cast<double>(n) / static_cast<double>(length));
  }
  return samples;
}

std::vector<double> make_kaiser_window(double alpha, std::size_t length) {
  require_length(length);
  if (!(alpha >= 0.0)) throw std::invalid_argument("Kaiser window: alpha must not be negative");
  const double beta = pi * alpha;
  std::vector<double> samples(length);
  for (std::size_t n = 0; n < length; ++n) {
    const double x = 2.0 * static_cast<double>(n) / static_cast<double>(length) - 1.0;
    samples[n] = bessel_i0(beta * std::sqrt(1.0 - x * x)) / bessel_i0(beta);
  }
  return samples;
}

double noise_bandwidth_bins(std::span<const double> window) {
  const double sum = tone_sum(window);
  const double energy = std::inner_product(window.begin(), window.end(), window.begin(), 0.0);
  return static_cast<double>(window.size()) * energy / (sum * sum);
}

std::vector<float> tone_scaled(std::span<const double> window) {
  const double scale = std::numbers::sqrt2 / tone_sum(window);
  std::vector<float> scaled(window.size());
  std::transform(window.begin(), window.end(), scaled.begin(),
                 [&](double w) { return static_cast<float>(w * scale); });
  return scaled;
}

WindowFigures window_figures(std::span<const double> window) {
  const double sum = tone_sum(window);
  const double peak = sum * sum;
  const double bandwidth = noise_bandwidth_bins(window);
  const double scalloping = 10.0 * std::log10(peak / spectrum_power(window, 0.5));
  return {.coherent_gain = sum / static_cast<double>(window.size()),
          .noise_bandwidth_bins = bandwidth,
          .scalloping_db = scalloping,
          .width_3db_bins = 2.0 * three_decibel_point(window, peak),
          .worst_case_loss_db = scalloping + 10.0 * std::log10(bandwidth)};
}

double main_lobe(WindowKind kind, double bins) {
  const CosineSum& window = row(kind);
  const auto& a = window.coefficients;
  double sum = a[0] * sinc(bins);
  for (std::size_t j = 1; j < window.terms(); ++j) {
    const auto shift = static_cast<double>(j);
    sum += 0.5 * a[j] * (sinc(bins - shift) + sinc(bins + shift));
  }
  return sum / a[0];
}

std::string_view window_name(WindowKind kind) { return row(kind).name; }

}  // namespace howl
