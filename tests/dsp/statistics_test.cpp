#include "dsp/statistics.h"

#include <doctest/doctest.h>

#include <cmath>

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
}

TEST_CASE("reverse arrangements of Bendat & Piersol, Random Data 4e, §4.5.2") {
  const std::vector<double> short_one{5, 3, 8, 9, 4, 1, 7, 5};
  CHECK(reverse_arrangements(short_one) == 14);
  // Example 4.4: A = 86, no trend at 5 % (64 < A ≤ 125).
  const std::vector<double> example{5.2, 6.2, 3.7, 6.4, 3.9, 4.0, 3.9, 5.3, 4.0, 4.6,
                                    5.9, 6.5, 4.3, 5.7, 3.1, 5.6, 5.2, 3.9, 6.2, 5.0};
  CHECK(reverse_arrangements(example) == 86);
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
  const Interval ci = percentile_interval(replicates, 0.95);
  CHECK(ci.low == doctest::Approx(0.46).epsilon(0.03));
  CHECK(ci.high == doctest::Approx(0.96).epsilon(0.01));
}
