#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <vector>

#include "dsp/spectrum.h"
#include "dsp/statistics.h"

namespace howl {

/// Lines at whole multiples of one order that stand out of an envelope spectrum.
struct StrikeFamily {
  double order{};  ///< the base, as read off the spectrum
  double sigma{};
  int harmonics{};                       ///< multiples that stand out, the base among them
  std::optional<double> sideband_order;  ///< distance of lines on both sides of the multiples
  std::size_t strongest_line{};
  double false_alarm{};  ///< of its strongest line, all lines looked at counted
};

struct StrikeParameters {
  Interval orders;  ///< to look at
  /// Whether what is read at `order`, give or take `width` (the lines' spacing, or the deviation to
  /// which a maximum is read), is the engine's for sure not.
  std::function<bool(double order, double width)> may_count;
  double lines_looked_at{1.0};  ///< in all the spectra of the take
  double false_alarm{0.01};     ///< a take
};

/// Finds lines that noise of the spectrum's own floor would make anywhere in the take with a chance
/// below `false_alarm` (chi-square with 2·n_d degrees of freedom, Bonferroni), and groups them.
/// Once a base is known its multiples and sidebands are few places to look, and count from a chance
/// of 1 % a place. Strongest family first. `floor` as noise_floor() gives it.
///
/// Lines beside a half order do not found a family, and the base of the blows may be there: then a
/// later multiple is the first to stand clear of the engine's. So a whole part of a line is taken
/// for the base where something is, the engine's or not, and the part explains more lines. Here a
/// line beside a half order counts too, if its maximum, read to its own deviation, is none itself:
/// what leaks from a half order has its maximum there.
std::vector<StrikeFamily> find_strikes(const PowerSpectrum& spectrum,
                                       const std::vector<double>& floor,
                                       const StrikeParameters& parameters);

/// How many lines of `spectrum` find_strikes() looks at.
std::size_t lines_to_look_at(const PowerSpectrum& spectrum, const StrikeParameters& parameters);

}  // namespace howl
