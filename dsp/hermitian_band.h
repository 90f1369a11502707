#pragma once

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace howl {

struct HermitianBandParameters {
  std::size_t off_diagonals{};  ///< above the diagonal; A(i, j) = 0 where |i − j| is more
  /// An unknown is given out once further rows move it by less than this share of the largest
  /// unknown near it. The error of what is given out is smaller still. 0: only at the end.
  double tolerance{1e-9};
  /// Rows held back at most, 16·(off_diagonals + 3) bytes each.
  std::size_t most_rows{1'000'000};
};

/// Solves A·x = b for a Hermitian positive definite band matrix that arrives row by row, as LDLᴴ
/// (Golub and Van Loan, Matrix Computations, 4e, §4.3.5), in time linear in the rows and bounded
/// memory.
///
/// Elimination runs once along the rows and is exact. Back-substitution runs from the newest row
/// over those held back: where the influence of a row dies away along the band, as it does in
/// smoothing, the early unknowns settle, are given out and forgotten. What is given out depends on
/// the rows alone, and not on when they came.
///
/// Throws std::invalid_argument where the matrix is not positive definite as far as double
/// precision can tell, and where more than `most_rows` rows do not settle.
class HermitianBandSolver {
 public:
  using Complex = std::complex<double>;

  explicit HermitianBandSolver(const HermitianBandParameters& parameters);

  /// Next row: A(i, i) … A(i, i + off_diagonals), and b(i). Appends to `settled` the unknowns that
  /// can be given out, in order.
  void push(std::span<const Complex> row, Complex right, std::vector<Complex>& settled);
  /// No more rows: what the last rows say of unknowns beyond them is left out. Appends the rest.
  void finish(std::vector<Complex>& settled);

 private:
  void eliminate(std::span<const Complex> row, Complex right);
  void substitute_back();
  void settle(std::vector<Complex>& settled);
  void forget(std::size_t rows, std::vector<Complex>& settled);
  std::span<Complex> pending(std::size_t rows_ahead);

  HermitianBandParameters parameters_;
  std::size_t stride_;             // a row: right-hand side, then off-diagonals
  std::vector<Complex> factor_;    // rows held back: b/d, then A(i, i + j)/d
  std::vector<Complex> pending_;   // what earlier rows add to rows to come, in a ring
  std::size_t pending_start_{};    // which one of the ring is the next row's
  std::vector<Complex> solution_;  // newest back-substitution over the rows held back
  std::vector<Complex> previous_;  // the one before, for as many rows as there were then
  std::size_t next_settling_;
};

}  // namespace howl
