#include "dsp/hermitian_band.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace howl {

namespace {

using Complex = HermitianBandSolver::Complex;

constexpr std::size_t kLeastRowsBetweenSettlings = 128;

/// The operator of std::complex looks out for infinities, which do not occur here.
Complex product(Complex a, Complex b) {
  return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
}

std::size_t rows_between_settlings(std::size_t rows) {
  return std::max(kLeastRowsBetweenSettlings, rows / 4);
}

}  // namespace

HermitianBandSolver::HermitianBandSolver(const HermitianBandParameters& parameters)
    : parameters_(parameters),
      stride_(parameters.off_diagonals + 1),
      pending_((parameters.off_diagonals + 1) * (parameters.off_diagonals + 2)),
      next_settling_(rows_between_settlings(0)) {}

/// Diagonal, off-diagonals and right-hand side, to be added to the row `rows_ahead` of the next.
std::span<Complex> HermitianBandSolver::pending(std::size_t rows_ahead) {
  const std::size_t length = stride_ + 1;
  return std::span(pending_).subspan((pending_start_ + rows_ahead) % stride_ * length, length);
}

void HermitianBandSolver::eliminate(std::span<const Complex> row, Complex right) {
  const std::size_t reach = parameters_.off_diagonals;
  const std::span<Complex> whole = pending(0);
  for (std::size_t j = 0; j <= reach; ++j) whole[j] += row[j];
  whole[reach + 1] += right;

  // Below this, what is left of the diagonal is rounding.
  const double least = 64.0 * std::numeric_limits<double>::epsilon() * row[0].real();
  const double pivot = whole[0].real();
  if (!(pivot > least))
    throw std::invalid_argument("band solver: the equations do not determine every unknown");

  const double scale = 1.0 / pivot;
  factor_.push_back(whole[reach + 1] * scale);
  for (std::size_t j = 1; j <= reach; ++j) factor_.push_back(whole[j] * scale);
  const std::span<const Complex> scaled = std::span(factor_).last(stride_);
  for (std::size_t i = 1; i <= reach; ++i) {
    const std::span<Complex> below = pending(i);
    const Complex share = -std::conj(scaled[i]);
    for (std::size_t j = i; j <= reach; ++j) below[j - i] += product(share, whole[j]);
    below[reach + 1] += product(share, whole[reach + 1]);
  }
  std::ranges::fill(whole, Complex{});
  pending_start_ = (pending_start_ + 1) % stride_;
}

void HermitianBandSolver::substitute_back() {
  const std::size_t rows = factor_.size() / stride_;
  solution_.resize(rows);
  for (std::size_t i = rows; i-- > 0;) {
    const Complex* const row = &factor_[i * stride_];
    const std::size_t reach = std::min(parameters_.off_diagonals, rows - 1 - i);
    Complex sum = row[0];
    for (std::size_t j = 1; j <= reach; ++j) sum -= product(row[j], solution_[i + j]);
    solution_[i] = sum;
  }
}

void HermitianBandSolver::forget(std::size_t rows, std::vector<Complex>& settled) {
  const auto end = solution_.begin() + static_cast<std::ptrdiff_t>(rows);
  settled.insert(settled.end(), solution_.begin(), end);
  solution_.erase(solution_.begin(), end);
  factor_.erase(factor_.begin(), factor_.begin() + static_cast<std::ptrdiff_t>(rows * stride_));
}

void HermitianBandSolver::settle(std::vector<Complex>& settled) {
  substitute_back();
  double largest = 0.0;
  for (const Complex& x : solution_) largest = std::max(largest, std::norm(x));
  const double allowed = parameters_.tolerance * parameters_.tolerance * largest;
  std::size_t steady = 0;
  while (steady < previous_.size() && std::norm(solution_[steady] - previous_[steady]) <= allowed)
    ++steady;
  forget(steady, settled);
  previous_ = solution_;
}

void HermitianBandSolver::push(std::span<const Complex> row, Complex right,
                               std::vector<Complex>& settled) {
  eliminate(row, right);
  const std::size_t rows = factor_.size() / stride_;
  if (parameters_.tolerance == 0.0 || rows < next_settling_) return;
  settle(settled);
  if (previous_.size() > parameters_.most_rows)
    throw std::invalid_argument("band solver: the unknowns do not settle");
  next_settling_ = previous_.size() + rows_between_settlings(previous_.size());
}

void HermitianBandSolver::finish(std::vector<Complex>& settled) {
  substitute_back();
  forget(solution_.size(), settled);
  previous_.clear();
}

}  // namespace howl
