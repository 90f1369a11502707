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
  Interval orders;                        ///< to look at
  std::function<bool(double)> may_count;  ///< whether a line at this order is the engine's for sure
                                          ///< not
  double lines_looked_at{1.0};            ///< in all the spectra of the take
  double false_alarm{0.01};               ///< a take
};

/// Finds lines that noise of the spectrum's own floor would make anywhere in the take with a chance
/// below `false_alarm` (chi-square with 2·n_d degrees of freedom, Bonferroni), and groups them.
/// Once a base is known its multiples and sidebands are few places to look, and count from a chance
/// of 1 % a place. Strongest family first.
std::vector<StrikeFamily> find_strikes(const PowerSpectrum& spectrum,
                                       const StrikeParameters& parameters);

/// How many lines of `spectrum` find_strikes() looks at.
std::size_t lines_to_look_at(const PowerSpectrum& spectrum, const StrikeParameters& parameters);

}  // namespace howl
