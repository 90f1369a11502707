#include "dsp/hermitian_band.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <complex>
#include <stdexcept>
#include <vector>

#include "dsp/statistics.h"

using namespace howl;

namespace {

using Complex = HermitianBandSolver::Complex;

Complex draw_complex(Random& random) {
  const double real = draw_normal(random);
  return {real, draw_normal(random)};
}

/// Upper bands of a Hermitian matrix, row by row, with random off-diagonals and a diagonal that
/// makes it positive definite (Gershgorin).
std::vector<std::vector<Complex>> random_rows(std::size_t rows, std::size_t reach, double diagonal,
                                              Random& random) {
  std::vector<std::vector<Complex>> all(rows, std::vector<Complex>(reach + 1));
  for (std::size_t i = 0; i < rows; ++i) {
    all[i][0] = diagonal;
    for (std::size_t j = 1; j <= reach && i + j < rows; ++j) all[i][j] = draw_complex(random);
  }
  return all;
}

Complex element(const std::vector<std::vector<Complex>>& rows, std::size_t i, std::size_t j) {
  if (i > j) return std::conj(element(rows, j, i));
  return j - i < rows[i].size() ? rows[i][j - i] : Complex{};
}

std::vector<Complex> solve(const std::vector<std::vector<Complex>>& rows,
                           const std::vector<Complex>& right, double tolerance) {
  HermitianBandSolver solver({.off_diagonals = rows.front().size() - 1, .tolerance = tolerance});
  std::vector<Complex> solution;
  for (std::size_t i = 0; i < rows.size(); ++i) solver.push(rows[i], right[i], solution);
  solver.finish(solution);
  return solution;
}

}  // namespace

TEST_CASE("a Hermitian band system is solved: A·x gives b back") {
  Random random(1);
  for (const std::size_t reach : {0U, 1U, 3U, 7U}) {
    constexpr std::size_t count = 60;
    const auto rows = random_rows(count, reach, 40.0, random);
    std::vector<Complex> truth(count);
    for (Complex& x : truth) x = draw_complex(random);
    std::vector<Complex> right(count);
    for (std::size_t i = 0; i < count; ++i)
      for (std::size_t j = 0; j < count; ++j) right[i] += element(rows, i, j) * truth[j];

    const auto solution = solve(rows, right, 0.0);
    REQUIRE(solution.size() == count);
    double worst = 0.0;
    for (std::size_t i = 0; i < count; ++i)
      worst = std::max(worst, std::abs(solution[i] - truth[i]));
    CHECK(worst < 1e-13);
  }
}

TEST_CASE("unknowns given out early are those of the whole system within the tolerance") {
  // Off-diagonals of about 1.4 beside 12: influence dies away over some rows.
  Random random(2);
  constexpr std::size_t count = 4000;
  const auto rows = random_rows(count, 3, 12.0, random);
  std::vector<Complex> right(count);
  for (Complex& b : right) b = draw_complex(random);
  const auto whole = solve(rows, right, 0.0);

  HermitianBandSolver solver({.off_diagonals = 3, .tolerance = 1e-9});
  std::vector<Complex> early;
  for (std::size_t i = 0; i < count; ++i) solver.push(rows[i], right[i], early);
  CHECK(early.size() > count - 400);  // it does give them out, and does not wait for the end
  solver.finish(early);
  REQUIRE(early.size() == count);
  double worst = 0.0;
  double largest = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    worst = std::max(worst, std::abs(early[i] - whole[i]));
    largest = std::max(largest, std::abs(whole[i]));
  }
  CHECK(worst < 1e-9 * largest);
}

TEST_CASE("equations that leave an unknown open are refused") {
  // Both rows say x₀ + x₁ = b.
  HermitianBandSolver solver({.off_diagonals = 1});
  std::vector<Complex> out;
  solver.push(std::vector<Complex>{1.0, 1.0}, 1.0, out);
  CHECK_THROWS_AS(solver.push(std::vector<Complex>{1.0, 0.0}, 1.0, out), std::invalid_argument);
}

TEST_CASE("unknowns that never settle are refused once too many rows are held") {
  // A chain of differences, x_i − x_(i+1), hardly held at all: what comes late moves everything.
  HermitianBandSolver solver({.off_diagonals = 1, .tolerance = 1e-9, .most_rows = 1000});
  std::vector<Complex> out;
  const auto push_many = [&] {
    for (int i = 0; i < 5000; ++i) solver.push(std::vector<Complex>{2.0 + 1e-9, -1.0}, 1.0, out);
  };
  CHECK_THROWS_AS(push_many(), std::invalid_argument);
}
