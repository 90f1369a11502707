#pragma once

#include <cstddef>

#include "dsp/window.h"

namespace howl {

/// Power of the main lobe `bins` off its centre, relative to the centre.
inline double lobe_power(WindowKind kind, double bins) {
  const double amplitude = main_lobe(kind, bins);
  return amplitude * amplitude;
}

/// Half width of the main lobe from centre to first null, in lines: the number of cosine terms of
/// the window (1 rectangular, 2 Hann, 4 Blackman-Harris …).
std::size_t lobe_half_width(WindowKind kind);

/// Correlation of white noise between two lines `lines` apart, as this window makes it (1 at 0):
/// Σ W(i)·W(i + lines) / Σ W(i)² over the window's Fourier coefficients.
double line_correlation(WindowKind kind, std::size_t lines);

}  // namespace howl
