#pragma once

#include <cstddef>
#include <cstdint>
#include <random>
#include <span>
#include <vector>

namespace howl {

struct Interval {
  double low{};
  double high{};

  constexpr bool contains(double x) const { return low <= x && x <= high; }
  constexpr double width() const { return high - low; }
  friend constexpr bool operator==(const Interval&, const Interval&) = default;
};

/// The generator behind every seeded draw: same seed, same result, on every machine.
using Random = std::mt19937_64;

/// Uniform on [0, 1). Written out because std::uniform_real_distribution and
/// std::normal_distribution differ between standard libraries.
double draw_uniform(Random& random);
/// Uniform on [low, high).
double draw_between(Random& random, double low, double high);
double draw_between(Random& random, const Interval& range);
/// Standard normal (Box and Muller 1958).
double draw_normal(Random& random);
/// Chi-square with `degrees` > 0 degrees of freedom (Marsaglia and Tsang 2000).
double draw_chi_square(Random& random, double degrees);
/// Whole number in 0 … count − 1; `count` ≥ 1.
std::size_t draw_index(Random& random, std::size_t count);

double mean(std::span<const double> values);
/// Sample standard deviation, n − 1 in the denominator; 0 for fewer than two values.
double standard_deviation(std::span<const double> values);
/// Quantile by linear interpolation between order statistics (Hyndman and Fan 1996, type 7).
/// `values` need not be sorted and must not be empty; `p` in [0, 1].
double quantile(std::span<const double> values, double p);
double median(std::span<const double> values);

/// Standard normal distribution function.
double normal_cdf(double x);
/// Half a 95 % interval of a normal error, in standard deviations (NIST/SEMATECH e-Handbook,
/// 1.3.6.7.1: 1.960).
inline constexpr double kNormal95 = 1.96;
/// Density at `x` from the mean of a normal distribution with standard deviation `sd` > 0.
double normal_density(double x, double sd);
/// Regularised lower incomplete gamma P(a, x), a > 0, x ≥ 0 (Abramowitz & Stegun 6.5).
double gamma_p(double a, double x);
/// Quantile of chi-square with `degrees` > 0; 0 < p < 1.
double chi_square_quantile(double p, double degrees);
/// Quantile of Student's t with `degrees` > 0; 0 < p < 1.
double student_quantile(double p, double degrees);

/// Number of reverse arrangements (Bendat & Piersol, Random Data 4e, §4.5.2): pairs i < j with
/// x_i > x_j. A test for trend: for independent values mean n(n−1)/4, variance (2n³+3n²−5n)/72.
std::size_t reverse_arrangements(std::span<const double> values);

/// Means of `replicates` circular block-bootstrap resamples (Politis and Romano 1992) of `values`,
/// blocks of `block` consecutive values.
std::vector<double> block_bootstrap_means(std::span<const double> values, std::size_t block,
                                          std::size_t replicates, Random& random);

/// Percentile interval of bootstrap replicates (Efron and Tibshirani 1993, ch. 13).
Interval percentile_interval(std::span<const double> replicates, double confidence);

}  // namespace howl
