#include "dsp/statistics.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <span>
#include <vector>

#include "dsp/jackknife.h"

using namespace howl;

TEST_CASE("chi-square quantiles give the factors of Bendat & Piersol, Random Data 4e, Eq. 8.163") {
  // n·G/χ²: 95 % factors for n_d = 4, 16, 100 averages, n = 2·n_d.
  struct Row {
    double averages, low, high;
  };
  for (const Row row : {Row{4, 0.4562, 3.6702},
                        {8, 0.5547, 2.3163},
                        {16, 0.6467, 1.7495},
                        {32, 0.7272, 1.4620},
                        {64, 0.7940, 1.2985},
                        {100, 0.8297, 1.2290}}) {
    const double n = 2.0 * row.averages;
    CHECK(n / chi_square_quantile(0.975, n) == doctest::Approx(row.low).epsilon(2e-4));
    CHECK(n / chi_square_quantile(0.025, n) == doctest::Approx(row.high).epsilon(2e-4));
  }
}

TEST_CASE("Student quantiles are those of the GUM (JCGM 100:2008), Table G.2") {
  CHECK(student_quantile(0.975, 2) == doctest::Approx(4.303).epsilon(2e-4));
  CHECK(student_quantile(0.975, 3) == doctest::Approx(3.182).epsilon(2e-4));
  CHECK(student_quantile(0.975, 4) == doctest::Approx(2.776).epsilon(2e-4));
  CHECK(student_quantile(0.975, 5) == doctest::Approx(2.571).epsilon(2e-4));
  CHECK(student_quantile(0.975, 9) == doctest::Approx(2.262).epsilon(2e-4));
  CHECK(student_quantile(0.995, 16) == doctest::Approx(2.921).epsilon(2e-4));
  CHECK(student_quantile(0.025, 5) == doctest::Approx(-2.571).epsilon(2e-4));
  // Half width of a mean of 3, 4 and 5 values in their own standard deviations, t/√n, by hand.
  CHECK(student_quantile(0.975, 2) / std::sqrt(3.0) == doctest::Approx(2.484).epsilon(2e-4));
  CHECK(student_quantile(0.975, 3) / std::sqrt(4.0) == doctest::Approx(1.591).epsilon(4e-4));
  CHECK(student_quantile(0.975, 4) / std::sqrt(5.0) == doctest::Approx(1.242).epsilon(4e-4));
}

TEST_CASE("resistance and reactance of the GUM (JCGM 100:2008), example H.2") {
  // Table H.2: five simultaneous readings of potential difference, current and phase angle.
  const std::array<double, 5> volts{5.007, 4.994, 5.005, 4.990, 4.999};
  const std::array<double, 5> milliamperes{19.663, 19.639, 19.640, 19.685, 19.678};
  const std::array<double, 5> radians{1.0456, 1.0438, 1.0468, 1.0428, 1.0433};
  const auto of_mean = [](std::span<const double> values) {
    return standard_deviation(values) / std::sqrt(static_cast<double>(values.size()));
  };
  const auto check = [&](std::span<const double> values, double printed, double printed_deviation,
                         double last_digit) {
    CHECK(std::abs(mean(values) - printed) <= 0.5001 * last_digit);
    CHECK(std::abs(of_mean(values) - printed_deviation) <= 0.51 * last_digit);
  };
  check(volts, 4.9990, 0.0032, 1e-4);
  check(milliamperes, 19.6610, 0.0095, 1e-4);
  check(radians, 1.04446, 0.00075, 1e-5);

  // r(x, y) from the variance of the sum of both in their own deviations, 2 + 2r: printed −0.36,
  // 0.86, −0.65.
  const auto correlation = [](std::span<const double> a, std::span<const double> b) {
    std::array<double, 5> sum{};
    for (std::size_t i = 0; i < sum.size(); ++i)
      sum[i] = a[i] / standard_deviation(a) + b[i] / standard_deviation(b);
    return 0.5 * std::pow(standard_deviation(sum), 2) - 1.0;
  };
  CHECK(std::abs(correlation(volts, milliamperes) + 0.36) <= 0.005);
  CHECK(std::abs(correlation(volts, radians) - 0.86) <= 0.005);
  CHECK(std::abs(correlation(milliamperes, radians) + 0.65) <= 0.005);

  // Second approach, Table H.4: each set of readings gives its own R, X and Z.
  std::array<double, 5> r{};
  std::array<double, 5> x{};
  std::array<double, 5> z{};
  for (std::size_t i = 0; i < z.size(); ++i) {
    z[i] = 1000.0 * volts[i] / milliamperes[i];
    r[i] = z[i] * std::cos(radians[i]);
    x[i] = z[i] * std::sin(radians[i]);
  }
  check(r, 127.732, 0.071, 1e-3);
  check(x, 219.847, 0.295, 1e-3);
  check(z, 254.260, 0.236, 1e-3);
}

TEST_CASE("sum of four rectangular distributions (GUM Supplement 1, JCGM 101:2008, 9.2.3)") {
  // Each of unit variance, so ±√3: u = 2.00; 95 % within ±3.88, where a normal has ±3.92.
  Random random(5);
  std::vector<double> sums;
  for (int i = 0; i < 200000; ++i) {
    double sum = 0.0;
    for (int k = 0; k < 4; ++k) sum += std::sqrt(3.0) * (2.0 * draw_uniform(random) - 1.0);
    sums.push_back(sum);
  }
  CHECK(standard_deviation(sums) == doctest::Approx(2.0).epsilon(0.005));
  const Interval ci = percentile_interval(sums, 0.95);
  CHECK(std::abs(ci.low + 3.88) <= 0.02);
  CHECK(std::abs(ci.high - 3.88) <= 0.02);
}

TEST_CASE("reverse arrangements of Bendat & Piersol, Random Data 4e, §4.5.2") {
  const std::vector<double> short_one{5, 3, 8, 9, 4, 1, 7, 5};
  CHECK(reverse_arrangements(short_one) == 14);
  // Example 4.4: A = 86, no trend at 5 % (64 < A ≤ 125).
  const std::vector<double> example{5.2, 6.2, 3.7, 6.4, 3.9, 4.0, 3.9, 5.3, 4.0, 4.6,
                                    5.9, 6.5, 4.3, 5.7, 3.1, 5.6, 5.2, 3.9, 6.2, 5.0};
  CHECK(reverse_arrangements(example) == 86);

  // Of 20 independent values: mean 95, variance 237.5, and 64 < A ≤ 125 (Table A.6) in 95 %.
  Random random(17);
  std::vector<double> counts;
  int inside = 0;
  for (int i = 0; i < 20000; ++i) {
    std::vector<double> values(20);
    for (double& value : values) value = draw_uniform(random);
    counts.push_back(static_cast<double>(reverse_arrangements(values)));
    inside += counts.back() > 64.0 && counts.back() <= 125.0;
  }
  CHECK(std::abs(mean(counts) - 95.0) <= 0.4);  // standard error 0.11
  CHECK(std::pow(standard_deviation(counts), 2) == doctest::Approx(237.5).epsilon(0.04));
  CHECK(inside / 20000.0 == doctest::Approx(0.95).epsilon(0.01));
}

TEST_CASE("quantile interpolates between order statistics (Hyndman & Fan 1996, type 7)") {
  const std::vector<double> values{3, 1, 4, 2};
  CHECK(quantile(values, 0.0) == 1.0);
  CHECK(quantile(values, 1.0) == 4.0);
  CHECK(median(values) == 2.5);
  CHECK(quantile(values, 1.0 / 3.0) == doctest::Approx(2.0));
}

TEST_CASE("seeded draws have the moments of their distributions") {
  Random random(7);
  constexpr int count = 200000;
  double uniform = 0.0, normal = 0.0, normal2 = 0.0, chi = 0.0, chi2 = 0.0;
  for (int i = 0; i < count; ++i) {
    uniform += draw_uniform(random);
    const double x = draw_normal(random);
    normal += x;
    normal2 += x * x;
    const double c = draw_chi_square(random, 5.0);
    chi += c;
    chi2 += c * c;
  }
  CHECK(uniform / count == doctest::Approx(0.5).epsilon(0.005));
  CHECK(std::abs(normal / count) < 0.01);
  CHECK(normal2 / count == doctest::Approx(1.0).epsilon(0.02));
  CHECK(chi / count == doctest::Approx(5.0).epsilon(0.01));
  CHECK(chi2 / count - 25.0 == doctest::Approx(10.0).epsilon(0.05));
}

TEST_CASE("the block bootstrap sees the correlation that single draws would miss") {
  // First-order autoregression, ρ = 0.9: the mean's variance is (1+ρ)/(1−ρ) = 19 times that of
  // white noise with the same variance (Bendat & Piersol §8; Politis & Romano 1992).
  Random random(11);
  std::vector<double> values(4000);
  double x = 0.0;
  for (double& v : values) v = x = 0.9 * x + std::sqrt(1.0 - 0.81) * draw_normal(random);
  const auto single = block_bootstrap_means(values, 1, 1000, random);
  const auto blocks = block_bootstrap_means(values, 100, 1000, random);
  const double ratio = standard_deviation(blocks) / standard_deviation(single);
  CHECK(ratio > 3.3);  // √19 = 4.36, less the bias of finite blocks
  CHECK(ratio < 5.0);
}

TEST_CASE("bootstrap of the law-school correlation (Efron & Tibshirani 1993, Table 3.1)") {
  const std::vector<double> lsat{576, 635, 558, 578, 666, 580, 555, 661,
                                 651, 605, 653, 575, 545, 572, 594};
  const std::vector<double> gpa{3.39, 3.30, 2.81, 3.03, 3.44, 3.07, 3.00, 3.43,
                                3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96};
  const auto correlation = [](const std::vector<double>& a, const std::vector<double>& b) {
    const double ma = mean(a), mb = mean(b);
    double ab = 0, aa = 0, bb = 0;
    for (std::size_t i = 0; i < a.size(); ++i) {
      ab += (a[i] - ma) * (b[i] - mb);
      aa += (a[i] - ma) * (a[i] - ma);
      bb += (b[i] - mb) * (b[i] - mb);
    }
    return ab / std::sqrt(aa * bb);
  };
  CHECK(correlation(lsat, gpa) == doctest::Approx(0.7764).epsilon(1e-4));
  Random random(3);
  std::vector<double> replicates;
  for (int r = 0; r < 20000; ++r) {
    std::vector<double> a, b;
    for (std::size_t i = 0; i < lsat.size(); ++i) {
      const std::size_t k = draw_index(random, lsat.size());
      a.push_back(lsat[k]);
      b.push_back(gpa[k]);
    }
    replicates.push_back(correlation(a, b));
  }
  CHECK(standard_deviation(replicates) == doctest::Approx(0.134).epsilon(0.03));
  // Printed: [0.46, 0.96]; two standard errors would reach above 1.
  const Interval ci = percentile_interval(replicates, 0.95);
  CHECK(0.7764 + 1.96 * standard_deviation(replicates) > 1.0);
  CHECK(ci.low == doctest::Approx(0.46).epsilon(0.03));
  CHECK(ci.high == doctest::Approx(0.96).epsilon(0.01));
  // The jackknife: each school left out in turn. Its bias is 14 times what the mean of these is
  // off.
  std::vector<double> left_out;
  for (std::size_t i = 0; i < lsat.size(); ++i) {
    std::vector<double> a = lsat, b = gpa;
    a.erase(a.begin() + static_cast<std::ptrdiff_t>(i));
    b.erase(b.begin() + static_cast<std::ptrdiff_t>(i));
    left_out.push_back(correlation(a, b));
  }
  CHECK(std::abs(jackknife_error(left_out) - 0.1425) <= 0.00005);
  CHECK(std::abs(14.0 * (mean(left_out) - correlation(lsat, gpa)) + 0.0065) <= 0.00005);
  // The mean of one column: its standard error, and the bootstrap's, which is √((n−1)/n) of it.
  CHECK(std::abs(mean(lsat) - 600.27) <= 0.005);
  CHECK(std::abs(standard_deviation(lsat) / std::sqrt(15.0) - 10.79) <= 0.005);
  CHECK(standard_deviation(block_bootstrap_means(lsat, 1, 20000, random)) ==
        doctest::Approx(10.43).epsilon(0.02));
}
