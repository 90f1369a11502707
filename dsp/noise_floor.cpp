#include "dsp/noise_floor.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
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

/// A set of numbers below `size`, with the next member on either side found in a few steps: one bit
/// a number, and one for each word of these that holds a member.
class NumberSet {
 public:
  explicit NumberSet(std::size_t size) : words_(size / 64 + 1), full_(words_.size() / 64 + 1) {}

  void insert(std::size_t number) {
    words_[number / 64] |= bit(number);
    full_[number / 4096] |= bit(number / 64);
  }

  void erase(std::size_t number) {
    words_[number / 64] &= ~bit(number);
    if (words_[number / 64] == 0) full_[number / 4096] &= ~bit(number / 64);
  }

  /// The least member at `number` or after it; there must be one.
  std::size_t at_or_after(std::size_t number) const {
    std::size_t word = number / 64;
    std::uint64_t members = words_[word] & (~std::uint64_t{0} << number % 64);
    if (members == 0) {
      word = first_after(full_, word);
      members = words_[word];
    }
    return word * 64 + static_cast<std::size_t>(std::countr_zero(members));
  }

  /// The greatest member before `number`; there must be one.
  std::size_t before(std::size_t number) const {
    std::size_t word = number / 64;
    std::uint64_t members = words_[word] & (bit(number) - 1);
    if (members == 0) {
      word = last_before(full_, word);
      members = words_[word];
    }
    return word * 64 + 63 - static_cast<std::size_t>(std::countl_zero(members));
  }

 private:
  static std::uint64_t bit(std::size_t number) { return std::uint64_t{1} << number % 64; }

  static std::size_t first_after(const std::vector<std::uint64_t>& words, std::size_t number) {
    std::size_t word = (number + 1) / 64;
    std::uint64_t members = words[word] & (~std::uint64_t{0} << (number + 1) % 64);
    while (members == 0) members = words[++word];
    return word * 64 + static_cast<std::size_t>(std::countr_zero(members));
  }

  static std::size_t last_before(const std::vector<std::uint64_t>& words, std::size_t number) {
    std::size_t word = number / 64;
    std::uint64_t members = words[word] & (bit(number) - 1);
    while (members == 0) members = words[--word];
    return word * 64 + 63 - static_cast<std::size_t>(std::countl_zero(members));
  }

  std::vector<std::uint64_t> words_;
  std::vector<std::uint64_t> full_;
};

/// Fixed values in rising order, and where each of them stands there.
struct Ranks {
  explicit Ranks(std::span<const double> values) : of(values.size()), sorted(values.size()) {
    std::vector<std::size_t> order(values.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::ranges::sort(order, {}, [&](std::size_t i) { return values[i]; });
    for (std::size_t r = 0; r < order.size(); ++r) {
      of[order[r]] = r;
      sorted[r] = values[order[r]];
    }
  }

  std::vector<std::size_t> of;
  std::vector<double> sorted;
};

/// Quantiles of a changing subset of ranked values. A place in the ranking is kept, with the number
/// of members before it; as long as the subset changes by a few members, the next quantile lies
/// near.
class RankedSubset {
 public:
  explicit RankedSubset(const Ranks& ranks) : ranks_(ranks), members_(ranks.of.size()) {}

  std::size_t size() const { return size_; }

  void insert(std::size_t index) {
    members_.insert(ranks_.of[index]);
    ++size_;
    if (ranks_.of[index] < place_) ++before_;
  }

  void erase(std::size_t index) {
    members_.erase(ranks_.of[index]);
    --size_;
    if (ranks_.of[index] < place_) --before_;
  }

  /// Quantile with linear interpolation between order statistics; the subset must not be empty.
  double quantile(double p) {
    const double at = p * static_cast<double>(size_ - 1);
    const auto below = static_cast<std::size_t>(at);
    go_to(below);
    const double low = ranks_.sorted[place_];
    const double high = below + 1 < size_ ? ranks_.sorted[members_.at_or_after(place_ + 1)] : low;
    return std::lerp(low, high, at - static_cast<double>(below));
  }

 private:
  /// To the member that has `wanted` others before it.
  void go_to(std::size_t wanted) {
    for (; before_ > wanted; --before_) place_ = members_.before(place_);
    place_ = members_.at_or_after(place_);
    for (; before_ < wanted; ++before_) place_ = members_.at_or_after(place_ + 1);
  }

  const Ranks& ranks_;
  NumberSet members_;
  std::size_t size_{};
  std::size_t place_{};
  std::size_t before_{};
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
std::vector<double> running_quantile(const Ranks& ranks,
                                     std::span<const Neighbourhood> neighbourhoods, double p,
                                     const std::vector<bool>& counts, std::size_t least,
                                     std::span<const double> otherwise) {
  RankedSubset subset(ranks);
  std::vector<double> result(ranks.of.size());
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
  const Ranks ranks(spectrum.power);
  auto floor = running_quantile(ranks, around, low_quantile, counts, 1, spectrum.power);
  divide(floor, quantile_over_mean(low_quantile, averages));

  const double excess = std::max(least_excess, quantile_over_mean(0.999, averages));
  for (std::size_t k = 0; k < lines; ++k) {
    if (spectrum.power[k] > floor[k] * excess) counts[k] = false;
  }
  std::vector<double> fallback = floor;
  divide(fallback, 1.0 / quantile_over_mean(0.5, averages));
  const std::size_t enough = 2 * lobe_half_width(spectrum.window) + 1;
  floor = running_quantile(ranks, around, 0.5, counts, enough, fallback);
  divide(floor, quantile_over_mean(0.5, averages));

  const double rounding = 1e-16 * std::ranges::max(spectrum.power);
  for (double& value : floor) value = std::max(value, rounding);
  return floor;
}

}  // namespace howl
