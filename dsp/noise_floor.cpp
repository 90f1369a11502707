#include "dsp/noise_floor.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numeric>
#include <span>

#include "dsp/critical_band.h"
#include "dsp/statistics.h"
#include "dsp/window_lobe.h"

namespace howl {
namespace {

/// Lines first … end − 1.
struct Neighbourhood {
  std::size_t first;
  std::size_t end;
};

/// Order statistics of a changing subset of fixed values, each step O(log N) (Fenwick 1994).
class RankedSubset {
 public:
  explicit RankedSubset(std::span<const double> values)
      : rank_(values.size()), sorted_(values.size()), tree_(values.size() + 1) {
    std::vector<std::size_t> order(values.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::ranges::sort(order, {}, [&](std::size_t i) { return values[i]; });
    for (std::size_t r = 0; r < order.size(); ++r) {
      rank_[order[r]] = r;
      sorted_[r] = values[order[r]];
    }
  }

  std::size_t size() const { return size_; }

  void insert(std::size_t index) {
    ++size_;
    for (std::size_t i = rank_[index] + 1; i < tree_.size(); i += i & (~i + 1)) ++tree_[i];
  }

  void erase(std::size_t index) {
    --size_;
    for (std::size_t i = rank_[index] + 1; i < tree_.size(); i += i & (~i + 1)) --tree_[i];
  }

  /// Quantile with linear interpolation between order statistics; the subset must not be empty.
  double quantile(double p) const {
    const double at = p * static_cast<double>(size_ - 1);
    const auto below = static_cast<std::size_t>(at);
    const double low = order_statistic(below);
    const double high = below + 1 < size_ ? order_statistic(below + 1) : low;
    return std::lerp(low, high, at - static_cast<double>(below));
  }

 private:
  double order_statistic(std::size_t wanted) const {
    std::size_t position = 0;
    for (std::size_t step = std::bit_floor(tree_.size() - 1); step > 0; step /= 2) {
      if (position + step < tree_.size() && tree_[position + step] <= wanted) {
        position += step;
        wanted -= tree_[position];
      }
    }
    return sorted_[position];
  }

  std::vector<std::size_t> rank_;
  std::vector<double> sorted_;
  std::vector<std::size_t> tree_;
  std::size_t size_{};
};

std::vector<Neighbourhood> neighbourhoods(const PowerSpectrum& spectrum,
                                          std::optional<double> width) {
  const std::size_t lobe = 2 * lobe_half_width(spectrum.window) + 1;
  const std::size_t least_half = 3 * lobe;
  const std::size_t lines = spectrum.power.size();
  std::vector<Neighbourhood> result(lines);
  for (std::size_t k = 0; k < lines; ++k) {
    const double wide = width ? *width : critical_bandwidth(Hertz(spectrum.position(k))).value;
    const auto half =
        std::max(least_half, static_cast<std::size_t>(std::lround(wide / spectrum.spacing / 2.0)));
    result[k] = {k > half ? k - half : 0, std::min(lines, k + half + 1)};
  }
  return result;
}

/// Quantile `p` of the lines that `counts` marks, in a neighbourhood that slides upwards; where
/// fewer than `least` of them are there, `otherwise`.
std::vector<double> running_quantile(const PowerSpectrum& spectrum,
                                     std::span<const Neighbourhood> neighbourhoods, double p,
                                     const std::vector<bool>& counts, std::size_t least,
                                     std::span<const double> otherwise) {
  RankedSubset subset(spectrum.power);
  std::vector<double> result(spectrum.power.size());
  Neighbourhood held{0, 0};
  for (std::size_t k = 0; k < result.size(); ++k) {
    for (; held.end < neighbourhoods[k].end; ++held.end) {
      if (counts[held.end]) subset.insert(held.end);
    }
    for (; held.first < neighbourhoods[k].first; ++held.first) {
      if (counts[held.first]) subset.erase(held.first);
    }
    result[k] = subset.size() >= least ? subset.quantile(p) : otherwise[k];
  }
  return result;
}

/// Quantile of a noise line over its mean.
double quantile_over_mean(double p, double averages) {
  return chi_square_quantile(p, 2.0 * averages) / (2.0 * averages);
}

void divide(std::vector<double>& values, double divisor) {
  for (double& value : values) value /= divisor;
}

}  // namespace

std::vector<double> noise_floor(const PowerSpectrum& spectrum, std::optional<double> width) {
  constexpr double low_quantile = 0.3;
  constexpr double least_excess = 4.0;  // 6 dB: slopes within a neighbourhood are no tones
  const std::size_t lines = spectrum.power.size();
  const double averages = spectrum.effective_averages;
  if (lines == 0 || !(averages > 0.0)) return {};

  const auto around = neighbourhoods(spectrum, width);
  // Lines at 0 may hold an offset, which is no noise.
  std::vector<bool> counts(lines, true);
  std::fill_n(counts.begin(), std::min(lines, lobe_half_width(spectrum.window)), false);
  auto floor = running_quantile(spectrum, around, low_quantile, counts, 1, spectrum.power);
  divide(floor, quantile_over_mean(low_quantile, averages));

  const double excess = std::max(least_excess, quantile_over_mean(0.999, averages));
  for (std::size_t k = 0; k < lines; ++k) {
    if (spectrum.power[k] > floor[k] * excess) counts[k] = false;
  }
  std::vector<double> fallback = floor;
  divide(fallback, 1.0 / quantile_over_mean(0.5, averages));
  const std::size_t enough = 2 * lobe_half_width(spectrum.window) + 1;
  floor = running_quantile(spectrum, around, 0.5, counts, enough, fallback);
  divide(floor, quantile_over_mean(0.5, averages));

  const double rounding = 1e-16 * std::ranges::max(spectrum.power);
  for (double& value : floor) value = std::max(value, rounding);
  return floor;
}

}  // namespace howl
