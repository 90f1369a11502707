#pragma once

#include <cmath>
#include <numbers>

namespace howl {

/// sin(πx)/(πx), 1 at 0.
inline double sinc(double x) {
  return x == 0.0 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
}

/// Modified Bessel function of the first kind, order 0 (Abramowitz & Stegun 9.6.12).
double bessel_i0(double x);

}  // namespace howl
