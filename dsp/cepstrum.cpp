#include "dsp/cepstrum.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <stdexcept>

#include "dsp/fft.h"

namespace howl {

namespace {

/// Σ over the circle of an even function given by its values 0 … N/2, at each quefrency, over N.
std::vector<double> cosine_series(std::span<const double> half) {
  if (half.size() < 2) throw std::invalid_argument("cepstrum: a spectrum has at least two lines");
  const std::size_t size = 2 * (half.size() - 1);
  std::vector<float> circle(size);
  for (std::size_t k = 0; k < size; ++k)
    circle[k] = static_cast<float>(half[std::min(k, size - k)]);
  RealFft fft(size);
  std::vector<std::complex<float>> lines(fft.bins());
  fft.transform(circle, size, 1, std::vector<float>(size, 1.0F), lines);
  std::vector<double> series(lines.size());
  for (std::size_t q = 0; q < series.size(); ++q)
    series[q] = static_cast<double>(lines[q].real()) / static_cast<double>(size);
  return series;
}

double normal_tail(double z) { return 0.5 * std::erfc(z / std::sqrt(2.0)); }

/// The logarithm over the floor of the lines that count, their mean taken off; 0 elsewhere, padded
/// so that quefrencies lie closer than the spectrum's own resolution.
std::vector<double> levels_over_floor(const PowerSpectrum& spectrum, std::span<const double> floor,
                                      const std::vector<bool>& leave_out, const Interval& lines) {
  constexpr std::size_t finer = 4;
  std::size_t padded = 1;
  while (padded < finer * spectrum.power.size()) padded *= 2;
  std::vector<double> levels(padded + 1, 0.0);
  double sum = 0.0;
  double count = 0.0;
  for (std::size_t k = 0; k < spectrum.power.size(); ++k) {
    if (leave_out[k] || !lines.contains(spectrum.position(k)) || !(spectrum.power[k] > 0.0))
      continue;
    levels[k] = std::log(spectrum.power[k] / floor[k]);
    sum += levels[k];
    count += 1.0;
  }
  for (std::size_t k = 0; k < spectrum.power.size(); ++k)
    if (levels[k] != 0.0) levels[k] -= sum / count;
  return levels;
}

/// Each value over the spread of its neighbours (0.6745 normal deviations hold half of them).
std::vector<double> over_neighbours(std::span<const double> cepstrum, std::size_t first,
                                    std::size_t last) {
  constexpr std::size_t reach = 100;
  std::vector<double> scores(cepstrum.size(), 0.0);
  std::vector<double> sizes;
  for (std::size_t q = first; q <= last; ++q) {
    sizes.clear();
    const std::size_t from = q > first + reach ? q - reach : first;
    for (std::size_t i = from; i <= std::min(last, q + reach); ++i)
      sizes.push_back(std::abs(cepstrum[i]));
    const double spread = median(sizes) / 0.6745;
    if (spread > 0.0) scores[q] = cepstrum[q] / spread;
  }
  return scores;
}

/// Vertex of the parabola through a maximum and its neighbours.
double refined(std::span<const double> values, std::size_t at) {
  const double left = values[at - 1];
  const double right = values[at + 1];
  const double bend = left - 2.0 * values[at] + right;
  return static_cast<double>(at) + (bend < 0.0 ? 0.5 * (left - right) / bend : 0.0);
}

std::size_t highest_near(std::span<const double> scores, double place) {
  const auto from = static_cast<std::size_t>(std::max(1.0, std::floor(place) - 2.0));
  const auto to = std::min(scores.size() - 2, from + 5);
  return static_cast<std::size_t>(
      std::max_element(scores.begin() + static_cast<std::ptrdiff_t>(from),
                       scores.begin() + static_cast<std::ptrdiff_t>(to) + 1) -
      scores.begin());
}

}  // namespace

std::vector<double> power_cepstrum(std::span<const double> power) {
  std::vector<double> logarithm;
  for (const double p : power) {
    if (!(p > 0.0)) throw std::invalid_argument("cepstrum: powers must be above 0");
    logarithm.push_back(std::log(p));
  }
  return cosine_series(logarithm);
}

std::vector<double> real_cepstrum(std::span<const double> power) {
  std::vector<double> cepstrum = power_cepstrum(power);
  for (double& c : cepstrum) c *= 0.5;
  return cepstrum;
}

std::optional<FamilySpacing> find_family_spacing(const PowerSpectrum& spectrum,
                                                 std::span<const double> floor,
                                                 const std::vector<bool>& leave_out,
                                                 const FamilySpacingParameters& parameters) {
  if (spectrum.power.size() < 16 || floor.size() != spectrum.power.size()) return std::nullopt;
  const std::vector<double> levels =
      levels_over_floor(spectrum, floor, leave_out, parameters.lines);
  const std::vector<double> cepstrum = cosine_series(levels);
  // Quefrency q counts cycles over 2·(levels.size() − 1) lines.
  const double circle = 2.0 * static_cast<double>(levels.size() - 1) * spectrum.spacing;
  const auto first = static_cast<std::size_t>(std::ceil(circle / parameters.spacings.high));
  const auto last =
      std::min(cepstrum.size() - 2, static_cast<std::size_t>(circle / parameters.spacings.low));
  if (first < 1 || first + 8 > last) return std::nullopt;
  const std::vector<double> scores = over_neighbours(cepstrum, first, last);
  const auto looked_at = static_cast<double>(last - first + 1);
  const auto chance = [&](std::size_t q) {
    return std::min(1.0, looked_at * normal_tail(scores[q]));
  };
  auto best =
      static_cast<std::size_t>(std::max_element(scores.begin(), scores.end()) - scores.begin());
  if (best < 1 || chance(best) >= parameters.false_alarm) return std::nullopt;
  for (int part = 4; part >= 2; --part) {
    const double place = static_cast<double>(best) / part;
    if (place < static_cast<double>(first)) continue;
    const std::size_t q = highest_near(scores, place);
    if (chance(q) < parameters.false_alarm) {
      best = q;
      break;
    }
  }
  const double place = refined(scores, best);
  // A cepstral peak is as wide as the lines counted are few; its place is as sure as it is high.
  const double width = circle / parameters.lines.width();
  const double sigma = 0.4 * width / std::max(1.0, scores[best]);
  return FamilySpacing{circle / place, circle / place * sigma / place, chance(best)};
}

}  // namespace howl
