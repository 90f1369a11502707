#include "dsp/statistics.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>

namespace howl {

namespace {

constexpr double kEpsilon = std::numeric_limits<double>::epsilon();

double gamma_p_series(double a, double x) {
  double term = 1.0 / a;
  double sum = term;
  for (double n = a + 1.0; term > sum * kEpsilon; n += 1.0) {
    term *= x / n;
    sum += term;
  }
  return sum * std::exp(a * std::log(x) - x - std::lgamma(a));
}

// Lentz's evaluation of the continued fraction, Abramowitz & Stegun 6.5.31.
double gamma_q_fraction(double a, double x) {
  constexpr double tiny = 1e-300;
  double b = x + 1.0 - a;
  double c = 1.0 / tiny;
  double d = 1.0 / b;
  double h = d;
  for (int i = 1; i < 10000; ++i) {
    const double an = -i * (i - a);
    b += 2.0;
    d = an * d + b;
    d = 1.0 / (std::abs(d) < tiny ? tiny : d);
    c = b + an / c;
    c = std::abs(c) < tiny ? tiny : c;
    h *= d * c;
    if (std::abs(d * c - 1.0) < kEpsilon) break;
  }
  return h * std::exp(a * std::log(x) - x - std::lgamma(a));
}

// Continued fraction of the incomplete beta function, Abramowitz & Stegun 26.5.8.
double beta_fraction(double a, double b, double x) {
  constexpr double tiny = 1e-300;
  const auto guard = [](double v) { return std::abs(v) < tiny ? tiny : v; };
  double c = 1.0;
  double d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
  double h = d;
  for (int m = 1; m < 10000; ++m) {
    const double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1.0 / guard(1.0 + even * d);
    c = guard(1.0 + even / c);
    h *= d * c;
    const double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1.0 / guard(1.0 + odd * d);
    c = guard(1.0 + odd / c);
    h *= d * c;
    if (std::abs(d * c - 1.0) < kEpsilon) break;
  }
  return h;
}

double beta_regularised(double a, double b, double x) {
  if (x <= 0.0) return 0.0;
  if (x >= 1.0) return 1.0;
  const double front = std::exp(std::lgamma(a + b) - std::lgamma(a) - std::lgamma(b) +
                                a * std::log(x) + b * std::log1p(-x));
  return x < (a + 1.0) / (a + b + 2.0) ? front * beta_fraction(a, b, x) / a
                                       : 1.0 - front * beta_fraction(b, a, 1.0 - x) / b;
}

double student_cdf(double t, double degrees) {
  const double tail = 0.5 * beta_regularised(0.5 * degrees, 0.5, degrees / (degrees + t * t));
  return t < 0.0 ? tail : 1.0 - tail;
}

/// Root of a rising function by bisection, after widening [low, high] until it holds the root.
template <class Function>
double solve_rising(double low, double high, const Function& f) {
  while (f(high) < 0.0) high *= 2.0;
  for (int i = 0; i < 200 && high - low > 1e-14 * std::max(1.0, std::abs(high)); ++i) {
    const double middle = 0.5 * (low + high);
    (f(middle) < 0.0 ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace

double draw_uniform(Random& random) { return static_cast<double>(random() >> 11U) * 0x1.0p-53; }

double draw_between(Random& random, double low, double high) {
  return low + (high - low) * draw_uniform(random);
}

double draw_between(Random& random, const Interval& range) {
  return draw_between(random, range.low, range.high);
}

double draw_normal(Random& random) {
  const double radius = std::sqrt(-2.0 * std::log1p(-draw_uniform(random)));
  return radius * std::cos(2.0 * std::numbers::pi * draw_uniform(random));
}

double draw_chi_square(Random& random, double degrees) {
  double shape = 0.5 * degrees;
  double boost = 1.0;
  if (shape < 1.0) {
    boost = std::pow(1.0 - draw_uniform(random), 1.0 / shape);
    shape += 1.0;
  }
  const double d = shape - 1.0 / 3.0;
  const double c = 1.0 / std::sqrt(9.0 * d);
  for (;;) {
    const double x = draw_normal(random);
    const double v = std::pow(1.0 + c * x, 3.0);
    if (v <= 0.0) continue;
    const double u = 1.0 - draw_uniform(random);
    if (std::log(u) < 0.5 * x * x + d - d * v + d * std::log(v)) return 2.0 * d * v * boost;
  }
}

std::size_t draw_index(Random& random, std::size_t count) {
  return std::min(count - 1,
                  static_cast<std::size_t>(draw_uniform(random) * static_cast<double>(count)));
}

double mean(std::span<const double> values) {
  double sum = 0.0;
  for (const double v : values) sum += v;
  return sum / static_cast<double>(values.size());
}

double standard_deviation(std::span<const double> values) {
  if (values.size() < 2) return 0.0;
  const double centre = mean(values);
  double sum = 0.0;
  for (const double v : values) sum += (v - centre) * (v - centre);
  return std::sqrt(sum / static_cast<double>(values.size() - 1));
}

double quantile(std::span<const double> values, double p) {
  if (values.empty()) throw std::invalid_argument("quantile of nothing");
  std::vector<double> sorted(values.begin(), values.end());
  const double place = p * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const auto nth = sorted.begin() + static_cast<std::ptrdiff_t>(below);
  std::nth_element(sorted.begin(), nth, sorted.end());
  if (below + 1 == sorted.size()) return *nth;
  const double next = *std::min_element(nth + 1, sorted.end());
  return *nth + (place - static_cast<double>(below)) * (next - *nth);
}

double median(std::span<const double> values) { return quantile(values, 0.5); }

double normal_cdf(double x) { return 0.5 * std::erfc(-x / std::numbers::sqrt2); }

double normal_density(double x, double sd) {
  return std::exp(-0.5 * x * x / (sd * sd)) / (sd * std::sqrt(2.0 * std::numbers::pi));
}

double gamma_p(double a, double x) {
  if (x <= 0.0) return 0.0;
  return x < a + 1.0 ? gamma_p_series(a, x) : 1.0 - gamma_q_fraction(a, x);
}

double chi_square_quantile(double p, double degrees) {
  return solve_rising(0.0, 2.0 * degrees + 10.0,
                      [&](double x) { return gamma_p(0.5 * degrees, 0.5 * x) - p; });
}

double student_quantile(double p, double degrees) {
  if (p < 0.5) return -student_quantile(1.0 - p, degrees);
  return solve_rising(0.0, 10.0, [&](double t) { return student_cdf(t, degrees) - p; });
}

std::size_t reverse_arrangements(std::span<const double> values) {
  std::size_t count = 0;
  for (std::size_t i = 0; i < values.size(); ++i)
    for (std::size_t j = i + 1; j < values.size(); ++j) count += values[i] > values[j] ? 1 : 0;
  return count;
}

std::vector<double> block_bootstrap_means(std::span<const double> values, std::size_t block,
                                          std::size_t replicates, Random& random) {
  if (values.empty() || block == 0) throw std::invalid_argument("block bootstrap of nothing");
  std::vector<double> means(replicates);
  for (double& replicate : means) {
    double sum = 0.0;
    for (std::size_t drawn = 0; drawn < values.size();) {
      const std::size_t start = draw_index(random, values.size());
      for (std::size_t k = 0; k < block && drawn < values.size(); ++k, ++drawn)
        sum += values[(start + k) % values.size()];
    }
    replicate = sum / static_cast<double>(values.size());
  }
  return means;
}

Interval percentile_interval(std::span<const double> replicates, double confidence) {
  const double tail = 0.5 * (1.0 - confidence);
  return {quantile(replicates, tail), quantile(replicates, 1.0 - tail)};
}

}  // namespace howl
