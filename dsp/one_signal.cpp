#include "dsp/one_signal.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <numbers>
#include <vector>

namespace howl {

namespace {

constexpr double kMostLeft = 1e-4;
constexpr std::size_t kFewestLines = 10;

/// Lines within the band that hold sound in both streams; never the constant part.
std::vector<std::size_t> lines_with_sound(const CrossSpectrum& spectrum, const Interval& within) {
  std::vector<std::size_t> lines;
  for (std::size_t k = 1; k < spectrum.x.size(); ++k)
    if (within.contains(spectrum.position(k)) && spectrum.x[k] > 0.0 && spectrum.y[k] > 0.0)
      lines.push_back(k);
  return lines;
}

/// −1 where most lines are in opposition. A delay of half a sample turns none by a quarter or more.
double polarity(const CrossSpectrum& spectrum, const std::vector<std::size_t>& lines) {
  std::size_t in_step = 0;
  for (const std::size_t k : lines)
    if (spectrum.cross[k].real() >= 0.0) ++in_step;
  return 2 * in_step >= lines.size() ? 1.0 : -1.0;
}

double turn_per_second(const CrossSpectrum& spectrum, std::size_t line) {
  return 2.0 * std::numbers::pi * spectrum.position(line);
}

}  // namespace

std::optional<CopyFit> fit_copy(const CrossSpectrum& spectrum, const Interval& within_hz) {
  const std::vector<std::size_t> lines = lines_with_sound(spectrum, within_hz);
  if (lines.size() < kFewestLines) return std::nullopt;
  const double sign = polarity(spectrum, lines);
  std::vector<double> values;
  for (const std::size_t k : lines)
    values.push_back(-std::arg(sign * spectrum.cross[k]) / turn_per_second(spectrum, k));
  const double half_a_sample =
      0.25 / spectrum.position(spectrum.x.size() - 1);  // the last line is half the sample rate
  const double delay = std::clamp(median(values), -half_a_sample, half_a_sample);
  const auto along = [&](std::size_t k) {
    return (spectrum.cross[k] * std::polar(1.0, turn_per_second(spectrum, k) * delay)).real();
  };
  values.clear();
  for (const std::size_t k : lines) values.push_back(along(k) / spectrum.x[k]);
  const double gain = median(values);
  values.clear();
  double all = 0.0;
  double left = 0.0;
  for (const std::size_t k : lines) {
    const double of_line = spectrum.y[k] - 2.0 * gain * along(k) + gain * gain * spectrum.x[k];
    values.push_back(of_line / spectrum.y[k]);
    all += spectrum.y[k];
    left += of_line;
  }
  return CopyFit{gain, Seconds(delay), std::max(left / all, median(values))};
}

bool is_one_signal(const CrossSpectrum& spectrum, const Interval& within_hz) {
  const std::optional<CopyFit> fit = fit_copy(spectrum, within_hz);
  return fit && fit->left <= kMostLeft;
}

}  // namespace howl
