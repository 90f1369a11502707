#include "ui/pictures/waveform.h"

#include <algorithm>
#include <cmath>

namespace howl::desk {
namespace {

constexpr Extent kNoExtent{INT16_MAX, INT16_MIN};

std::int16_t packed_sample(float sample) {
  return static_cast<std::int16_t>(std::lround(32767.0F * std::clamp(sample, -1.0F, 1.0F)));
}

Extent joined(Extent a, Extent b) { return {std::min(a.low, b.low), std::max(a.high, b.high)}; }

}  // namespace

Waveform::Waveform(std::int64_t expected_samples) {
  while (expected_samples > kMostStretches * stretch_) stretch_ *= 2;
}

void Waveform::push(std::span<const float> samples) {
  for (const float sample : samples) {
    const std::int16_t value = packed_sample(sample);
    open_ = joined(open_, {value, value});
    if (++samples_ % stretch_ != 0) continue;
    levels_.front().push_back(open_);
    open_ = kNoExtent;
  }
}

void Waveform::finish() {
  if (open_.low <= open_.high) levels_.front().push_back(open_);
  open_ = kNoExtent;
  while (levels_.back().size() > 1) {
    const std::vector<Extent>& fine = levels_.back();
    std::vector<Extent> coarse;
    coarse.reserve(fine.size() / 2 + 1);
    for (std::size_t i = 0; i < fine.size(); i += 2)
      coarse.push_back(i + 1 < fine.size() ? joined(fine[i], fine[i + 1]) : fine[i]);
    levels_.push_back(std::move(coarse));
  }
}

Extent Waveform::extent_of(const std::vector<Extent>& level, double from, double to) const {
  if (to <= 0 || from >= static_cast<double>(level.size())) return kNoExtent;
  const auto first = static_cast<std::size_t>(std::max(0.0, std::floor(from)));
  const auto last = std::min(level.size(), static_cast<std::size_t>(std::ceil(to)));
  Extent extent = kNoExtent;
  for (std::size_t i = first; i < std::max(last, first + 1) && i < level.size(); ++i)
    extent = joined(extent, level[i]);
  return extent;
}

std::vector<Extent> Waveform::parts(double from, double to, std::size_t count) const {
  const double part = (to - from) / static_cast<double>(std::max<std::size_t>(count, 1));
  std::size_t level = 0;
  auto stretch = static_cast<double>(stretch_);
  while (level + 1 < levels_.size() && stretch * 2 <= part) {
    ++level;
    stretch *= 2;
  }
  std::vector<Extent> parts;
  parts.reserve(count);
  for (std::size_t i = 0; i < count; ++i) {
    const double begin = from + part * static_cast<double>(i);
    parts.push_back(extent_of(levels_[level], begin / stretch, (begin + part) / stretch));
  }
  return parts;
}

}  // namespace howl::desk
