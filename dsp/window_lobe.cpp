#include "dsp/window_lobe.h"

#include <cmath>

namespace howl {
namespace {

double coefficient(WindowKind kind, std::ptrdiff_t line) {
  return main_lobe(kind, static_cast<double>(line));
}

double coefficient_overlap(WindowKind kind, std::size_t lines) {
  const auto reach = static_cast<std::ptrdiff_t>(lobe_half_width(kind));
  double sum = 0.0;
  for (std::ptrdiff_t i = -reach; i <= reach; ++i) {
    sum += coefficient(kind, i) * coefficient(kind, i + static_cast<std::ptrdiff_t>(lines));
  }
  return sum;
}

}  // namespace

std::size_t lobe_half_width(WindowKind kind) {
  // A cosine-sum window has no Fourier coefficient beyond its terms; the smallest that any of these
  // windows uses is 4.5e-4.
  constexpr double nothing = 1e-5;
  constexpr std::size_t most_terms = 16;
  std::size_t lines = 1;
  while (lines < most_terms && std::abs(main_lobe(kind, static_cast<double>(lines))) > nothing) {
    ++lines;
  }
  return lines;
}

double line_correlation(WindowKind kind, std::size_t lines) {
  return coefficient_overlap(kind, lines) / coefficient_overlap(kind, 0);
}

}  // namespace howl
