#include "src/analysis/tonal_beats.h"

#include <algorithm>
#include <cmath>

#include "dsp/noise_floor.h"
#include "dsp/special_functions.h"
#include "dsp/spectrum.h"

namespace howl {

namespace {

constexpr double kToneFloorWidth = 3.0;  // orders
constexpr double kToneChance = 0.01;     // of noise, a block
constexpr std::size_t kMostBlockTones = 200;
constexpr std::size_t kLobe = 2;       // lines of Hann's lobe to either side
constexpr double kWidestReach = 0.25;  // orders
constexpr double kSmears = 2.0;        // standard deviations of what the speed strays
constexpr double kBinsOfTone = 1.5;    // a tone's lines sum to so much of its mean square

/// Sums of `values` before each index, and of all.
std::vector<double> running_sums(const std::vector<double>& values) {
  std::vector<double> sums(values.size() + 1, 0.0);
  for (std::size_t k = 0; k < values.size(); ++k) sums[k + 1] = sums[k] + values[k];
  return sums;
}

/// Of the values within `reach` of `centre`, from their running sums; 0 outside.
double sum_about(const std::vector<double>& sums, std::ptrdiff_t centre, std::size_t reach) {
  const auto end = static_cast<std::ptrdiff_t>(sums.size()) - 1;
  const auto half = static_cast<std::ptrdiff_t>(reach);
  const std::ptrdiff_t first = std::clamp<std::ptrdiff_t>(centre - half, 0, end);
  const std::ptrdiff_t last = std::clamp<std::ptrdiff_t>(centre + half + 1, 0, end);
  return sums[static_cast<std::size_t>(last)] - sums[static_cast<std::size_t>(first)];
}

/// Lines to either side of a tone's that are its own, where the speed strays by `smear`: what it
/// strays within a block, and Hann's lobe.
std::size_t reach_of(std::size_t line, double spacing, double smear) {
  const double wider =
      std::min(kWidestReach / spacing, kSmears * smear * static_cast<double>(line));
  return kLobe + static_cast<std::size_t>(std::lround(wider));
}

/// Over how many times the floor the mean of the lines within `reach` is with the given chance,
/// in noise. Powers of Hann's neighbouring lines correlate by 4/9, of the next by 1/36.
double noise_quantile(std::size_t reach, double chance) {
  const auto count = static_cast<double>(2 * reach + 1);
  const double shape =
      count * count / (count + 2.0 * ((count - 1.0) * 4.0 / 9.0 + (count - 2.0) / 36.0));
  double mean = 1.0;
  while (1.0 - gamma_p(shape, shape * mean) > chance) mean += 0.05;
  return mean;
}

/// A local maximum of one block that no noise explains, by itself or with the lines about it.
struct Candidate {
  std::size_t line{};
  std::size_t reach{};
  double sum{};  ///< of the lines within reach
};

/// Strongest first.
std::vector<Candidate> candidates(const std::vector<double>& power,
                                  const std::vector<double>& floor, double spacing, double smear) {
  const double chance = kToneChance / static_cast<double>(power.size());
  const double least_alone = -std::log(chance);  // a noise line is exponentially distributed
  const std::vector<double> sums = running_sums(power);
  std::vector<double> least_mean;  // by reach
  std::vector<Candidate> found;
  for (std::size_t k = kLobe; k + kLobe < power.size(); ++k) {
    if (power[k] < power[k - 1] || power[k] <= power[k + 1]) continue;
    const std::size_t reach = reach_of(k, spacing, smear);
    while (least_mean.size() <= reach)
      least_mean.push_back(noise_quantile(least_mean.size(), chance));
    const double sum = sum_about(sums, static_cast<std::ptrdiff_t>(k), reach);
    const double mean = sum / static_cast<double>(2 * reach + 1);
    if (power[k] > least_alone * floor[k] || mean > least_mean[reach] * floor[k])
      found.push_back({k, reach, sum});
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Candidate& a, const Candidate& b) { return a.sum > b.sum; });
  return found;
}

}  // namespace

BlockTones::BlockTones(std::span<const float> power, double spacing, double smear)
    : spacing_(spacing) {
  PowerSpectrum block{.spacing = spacing,
                      .window = WindowKind::hann,
                      .noise_bandwidth_bins = kBinsOfTone,
                      .effective_averages = 1.0,
                      .power = {power.begin(), power.end()}};
  const std::vector<double> floor = noise_floor(block, kToneFloorWidth);
  rest_.resize(power.size());
  for (std::size_t k = 0; k < power.size(); ++k)
    rest_[k] = (block.power[k] - floor[k]) / kBinsOfTone;
  take_tones(block.power, floor, smear);
}

void BlockTones::take_tones(const std::vector<double>& power, const std::vector<double>& floor,
                            double smear) {
  std::vector<bool> taken(power.size());
  for (const Candidate& candidate : candidates(power, floor, spacing_, smear)) {
    if (tones_.size() == kMostBlockTones) return;
    if (taken[candidate.line]) continue;
    double sum = 0.0;
    double moment = 0.0;
    const std::size_t first = candidate.line - std::min(candidate.line, candidate.reach);
    for (std::size_t k = first; k <= candidate.line + candidate.reach && k < power.size(); ++k) {
      if (taken[k]) continue;
      taken[k] = true;
      sum += rest_[k];
      moment += rest_[k] * (static_cast<double>(k) - static_cast<double>(candidate.line));
      rest_[k] = 0.0;
    }
    if (!(sum > 0.0)) continue;
    const double off = std::clamp(moment / sum, -2.0, 2.0);
    const auto line = static_cast<double>(candidate.line) + off;
    tones_.push_back({static_cast<std::size_t>(std::lround(line)), candidate.reach, sum});
  }
}

BlockTones::Passed BlockTones::passed(const Interval& orders,
                                      const std::function<double(double)>& gain) const {
  Passed band;
  const double top = static_cast<double>(rest_.size());
  band.first = static_cast<std::size_t>(std::clamp(std::ceil(orders.low / spacing_), 0.0, top));
  const auto end =
      static_cast<std::size_t>(std::clamp(std::floor(orders.high / spacing_) + 1.0, 0.0, top));
  std::vector<double> power_gain;
  std::vector<double> rest;
  for (std::size_t k = band.first; k < end; ++k) {
    power_gain.push_back(std::pow(gain(spacing_ * static_cast<double>(k)), 2));
    rest.push_back(rest_[k] * power_gain.back());
  }
  band.rest_before = running_sums(rest);
  for (const Tone& tone : tones_) {
    if (tone.line < band.first || tone.line >= end) continue;
    const double power = tone.power * power_gain[tone.line - band.first];
    if (power > 0.0) band.tones.push_back({tone.line, tone.reach, power});
  }
  return band;
}

std::vector<double> BlockTones::beats(const Interval& orders,
                                      const std::function<double(double)>& gain,
                                      std::size_t lines) const {
  const Passed band = passed(orders, gain);
  std::vector<double> swing(lines);  // amplitudes, of pairs of tones
  for (std::size_t i = 0; i < band.tones.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) add_pair(band.tones[i], band.tones[j], swing);
  std::vector<double> result(lines);
  for (const Tone& tone : band.tones) add_pairs_with_rest(tone, band, result);
  for (std::size_t k = 0; k < lines; ++k) result[k] += 0.5 * swing[k] * swing[k];
  return result;
}

void BlockTones::add_pair(const Tone& a, const Tone& b, std::vector<double>& swing) {
  const std::size_t distance = a.line > b.line ? a.line - b.line : b.line - a.line;
  const std::size_t reach = std::max(a.reach, b.reach);
  const double amplitude = 4.0 * std::sqrt(a.power * b.power);
  for (std::size_t k = distance - std::min(distance, reach);
       k <= distance + reach && k < swing.size(); ++k)
    swing[k] += amplitude;
}

void BlockTones::add_pairs_with_rest(const Tone& tone, const Passed& band,
                                     std::vector<double>& power) {
  const auto centre = static_cast<std::ptrdiff_t>(tone.line - band.first);
  for (std::size_t k = 1; k < power.size(); ++k) {
    const auto away = static_cast<std::ptrdiff_t>(k);
    const double below = sum_about(band.rest_before, centre - away, tone.reach);
    const double above = sum_about(band.rest_before, centre + away, tone.reach);
    // Sidebands of one swell are in phase.
    const double together = below > 0.0 && above > 0.0 ? 2.0 * std::sqrt(below * above) : 0.0;
    power[k] += 8.0 * tone.power * (below + above + together);
  }
}

}  // namespace howl
