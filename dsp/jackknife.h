#pragma once

#include <span>

namespace howl {

/// Standard error of an estimate by the jackknife (Efron and Tibshirani 1993, ch. 11), from what it
/// comes to with each value left out in turn, or each of several groups of one size (delete-a-group
/// jackknife). In the unit of the estimate; 0 for fewer than two.
double jackknife_error(std::span<const double> left_out);

}  // namespace howl
