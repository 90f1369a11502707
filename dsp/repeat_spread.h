#pragma once

#include <cstddef>
#include <span>

#include "dsp/statistics.h"

namespace howl {

/// How much the level of one point differs from repeat to repeat (hand pressure, exact spot): an
/// expectation, and the repeats that were seen, as scaled-inverse-chi-square (Gelman et al.,
/// Bayesian Data Analysis 3e, §2.6). Resampling two or three repeats with replacement would give a
/// spread far too narrow.
class RepeatSpread {
 public:
  /// What is expected before any repeat is seen, and how many degrees of freedom that is worth.
  RepeatSpread(double expected_sd_db, double expected_degrees);

  /// Levels of repeats of one thing; fewer than two tell nothing.
  void add(std::span<const double> levels_db);

  double degrees() const { return degrees_; }
  double likely_sd_db() const;
  /// A spread that the repeats and the expectation allow.
  double draw_sd_db(Random& random) const;

 private:
  double sum_of_squares_;  // dB²
  double degrees_;
};

/// How far the energy mean of `repeats` repeats falls from the mean over all thinkable repeats, as
/// a ratio of powers, drawn for a spread of `sd` dB (normal in dB). What an energy mean exceeds the
/// typical repeat by is taken at the best estimate of the spread, `likely_sd`: taken anew at each
/// draw it would give intervals a long tail upwards that no measurement supports.
double draw_repeat_error(std::size_t repeats, double sd, double likely_sd, Random& random);

}  // namespace howl
