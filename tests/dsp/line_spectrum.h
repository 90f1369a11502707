#pragma once

#include <cmath>
#include <complex>
#include <numbers>
#include <span>
#include <vector>

#include "dsp/spectrum.h"
#include "dsp/statistics.h"
#include "dsp/window.h"
#include "dsp/window_lobe.h"

/// Spectra whose lines are known by construction.
namespace howl::test {

/// Noise bandwidth of a cosine-sum window from its Fourier coefficients (Parseval).
inline double noise_bandwidth_of(WindowKind window) {
  double sum = 1.0;
  for (std::size_t i = 1; i < lobe_half_width(window); ++i) {
    const double amplitude = main_lobe(window, static_cast<double>(i));
    sum += 2.0 * amplitude * amplitude;
  }
  return sum;
}

inline PowerSpectrum flat_spectrum(std::size_t lines, double spacing, double line_power,
                                   double averages, WindowKind window = WindowKind::hann) {
  PowerSpectrum spectrum;
  spectrum.spacing = spacing;
  spectrum.window = window;
  spectrum.noise_bandwidth_bins = noise_bandwidth_of(window);
  spectrum.effective_averages = averages;
  spectrum.power.assign(lines, line_power);
  return spectrum;
}

/// Adds the lines of a steady tone whose mean square is `power`, as if its phase were unrelated to
/// what is there.
inline void add_tone(PowerSpectrum& spectrum, double position, double power) {
  for (std::size_t k = 0; k < spectrum.power.size(); ++k) {
    const double lobe =
        main_lobe(spectrum.window, static_cast<double>(k) - position / spectrum.spacing);
    spectrum.power[k] += power * lobe * lobe;
  }
}

/// A spectrum of `averages` independent blocks of a steady tone in white Gaussian noise. White
/// lines are convolved with the window's Fourier coefficients, so that neighbours correlate as they
/// do in earnest.
inline PowerSpectrum noisy_tone(std::size_t lines, double position, double power, double noise_line,
                                std::size_t averages, WindowKind window, Random& random) {
  const auto reach = lobe_half_width(window) - 1;
  PowerSpectrum spectrum = flat_spectrum(lines, 1.0, 0.0, static_cast<double>(averages), window);
  const double white = std::sqrt(noise_line / spectrum.noise_bandwidth_bins / 2.0);
  std::vector<double> coefficients;
  for (std::size_t m = 0; m <= 2 * reach; ++m) {
    coefficients.push_back(main_lobe(window, static_cast<double>(m) - static_cast<double>(reach)));
  }
  std::vector<double> lobe;
  for (std::size_t k = 0; k < lines; ++k) {
    lobe.push_back(main_lobe(window, static_cast<double>(k) - position));
  }
  std::vector<std::complex<double>> noise(lines + 2 * reach);
  for (std::size_t block = 0; block < averages; ++block) {
    for (auto& line : noise) line = white * std::complex(draw_normal(random), draw_normal(random));
    const auto tone = std::polar(std::sqrt(power), 2.0 * std::numbers::pi * draw_uniform(random));
    for (std::size_t k = 0; k < lines; ++k) {
      auto value = tone * lobe[k];
      for (std::size_t m = 0; m <= 2 * reach; ++m) value += noise[k + m] * coefficients[m];
      spectrum.power[k] += std::norm(value) / static_cast<double>(averages);
    }
  }
  return spectrum;
}

}  // namespace howl::test
