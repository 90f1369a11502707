#include "dsp/decimator.h"

#include <cmath>
#include <numbers>
#include <numeric>

#include "dsp/window.h"

namespace howl {

namespace {

constexpr std::size_t kLengthInOutputs = 24;
constexpr double kCutOff = 0.47;  // of the new rate, half way down the slope

std::vector<float> make_taps(std::size_t factor) {
  if (factor == 1) return {1.0F};
  const std::size_t length = kLengthInOutputs * factor;
  const std::vector<double> window = make_window(WindowKind::blackman, length);
  std::vector<float> taps(length);
  double sum = 0.0;
  for (std::size_t i = 0; i < length; ++i) {
    const double x = (static_cast<double>(i) - static_cast<double>(length) / 2.0) /
                     static_cast<double>(factor) * 2.0 * kCutOff * std::numbers::pi;
    const double sinc = x == 0.0 ? 1.0 : std::sin(x) / x;
    taps[i] = static_cast<float>(window[i] * sinc);
    sum += window[i] * sinc;
  }
  for (float& tap : taps) tap = static_cast<float>(tap / sum);
  return taps;
}

}  // namespace

Decimator::Decimator(std::size_t factor)
    : factor_(factor), taps_(make_taps(factor)), pending_(taps_.size() / 2, 0.0F) {}

void Decimator::push(std::span<const float> samples, std::vector<float>& out) {
  pending_.insert(pending_.end(), samples.begin(), samples.end());
  std::size_t at = 0;
  for (; at + taps_.size() <= pending_.size(); at += factor_)
    out.push_back(std::inner_product(taps_.begin(), taps_.end(),
                                     pending_.begin() + static_cast<std::ptrdiff_t>(at), 0.0F));
  pending_.erase(pending_.begin(), pending_.begin() + static_cast<std::ptrdiff_t>(at));
}

}  // namespace howl
