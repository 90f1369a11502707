#include "dsp/lost_samples.h"

#include <algorithm>
#include <bit>
#include <cmath>

namespace howl {

namespace {

constexpr double kLeastRestSeconds = 0.001;
constexpr double kFlankSeconds = 0.005;
constexpr double kRestSteps = 8.0;
constexpr float kNearCeiling = 0.9F;

constexpr double kLongestLagSeconds = 0.5;
constexpr double kLeastRepeatSeconds = 0.002;
constexpr std::int64_t kLeastRepeat = 64;
constexpr double kMostRepeated = 0.2;
constexpr std::uint64_t kHashFactor = 0x9E3779B97F4A7C15ULL;
constexpr std::int64_t kHashSamples = 8;
constexpr std::uint64_t kAnchorOneIn = 32;  // a power of two

constexpr double kJumpCellSeconds = 0.0025;
constexpr std::size_t kCells = 9;
constexpr std::size_t kSmeared = 2;  // samples about a jump that a filter may have smeared it over
constexpr float kAlone = 3.0F;
constexpr double kJumpSteps = 16.0;

constexpr std::uint64_t power_of_factor(std::int64_t exponent) {
  std::uint64_t power = 1;
  for (std::int64_t i = 0; i < exponent; ++i) power *= kHashFactor;
  return power;
}

std::size_t samples_in(double seconds, double rate, std::size_t least) {
  return std::max(least, static_cast<std::size_t>(std::lround(seconds * rate)));
}

}  // namespace

LostSampleFinder::LostSampleFinder(double sample_rate)
    : sample_rate_(sample_rate),
      least_rest_(samples_in(kLeastRestSeconds, sample_rate, 8)),
      memory_(std::exp(-1.0 / (kFlankSeconds * sample_rate))),
      ring_(std::bit_ceil(samples_in(kLongestLagSeconds, sample_rate, 64) + 256)),
      cell_(samples_in(kJumpCellSeconds, sample_rate, 8)) {
  differences_.reserve(kCells * cell_);
}

void LostSampleFinder::watch_rest(float sample) {
  const double move = std::abs(static_cast<double>(sample) - static_cast<double>(last_));
  if (move > 0.0 && (step_ == 0.0 || move < step_)) step_ = move;
  if (after_left_ > 0) {
    after_sum_ += move;
    if (--after_left_ == 0)
      rests_.back().after = after_sum_ / std::round(kFlankSeconds * sample_rate_);
  }
  if (position_ > 0 && sample == last_) {
    if (rest_ == 0) {
      rest_from_ = position_ - 1;
      activity_before_ = activity_;
    }
    ++rest_;
  } else {
    if (rest_ + 1 >= least_rest_ && std::abs(last_) < kNearCeiling * highest_ &&
        activity_before_ >= kRestSteps * step_) {
      rests_.push_back({rest_from_, position_, activity_before_, 0.0});
      after_left_ = std::llround(kFlankSeconds * sample_rate_);
      after_sum_ = 0.0;
    }
    rest_ = 0;
  }
  activity_ = memory_ * activity_ + (1.0 - memory_) * move;
  highest_ = std::max(highest_, std::abs(sample));
}

void LostSampleFinder::end_repeat() {
  const auto least =
      std::max<std::int64_t>(kLeastRepeat, std::llround(kLeastRepeatSeconds * sample_rate_));
  if (equal_ >= least && 2 * changes_ >= equal_) {
    repeated_samples_ += equal_;
    repeated_.push_back({static_cast<double>(position_ - equal_) / sample_rate_,
                         static_cast<double>(position_) / sample_rate_});
    if (repeated_.size() > 4096) repeated_ = merged(std::move(repeated_), 0.0, 0.01);
  }
  lag_ = 0;
}

void LostSampleFinder::watch_repeat(float sample) {
  const auto size = static_cast<std::int64_t>(ring_.size());
  const auto at = [&](std::int64_t position) -> float& {
    return ring_[static_cast<std::size_t>(position % size)];
  };
  if (lag_ > 0) {
    if (sample == at(position_ - lag_)) {
      ++equal_;
      changes_ += sample != last_ ? 1 : 0;
    } else {
      end_repeat();
    }
  }
  static constexpr std::uint64_t oldest = power_of_factor(kHashSamples);
  hash_ = hash_ * kHashFactor + std::bit_cast<std::uint32_t>(sample);
  if (position_ >= kHashSamples)
    hash_ -= oldest * std::bit_cast<std::uint32_t>(at(position_ - kHashSamples));
  at(position_) = sample;
  const std::uint64_t mixed = (hash_ ^ (hash_ >> 31U)) * kHashFactor;
  if (position_ < kHashSamples || ((mixed >> 40U) & (kAnchorOneIn - 1)) != 0 || sample == last_)
    return;

  const auto longest = std::llround(kLongestLagSeconds * sample_rate_);
  const auto [known, is_new] = anchors_.try_emplace(mixed, position_);
  const std::int64_t lag = position_ - known->second;
  known->second = position_;
  if (!is_new && lag_ == 0 && lag <= longest) {
    std::int64_t equal = 0;
    std::int64_t changes = 0;
    while (equal < 255 && equal + lag < position_ &&
           at(position_ - equal) == at(position_ - equal - lag)) {
      changes += at(position_ - equal) != at(position_ - equal - 1) ? 1 : 0;
      ++equal;
    }
    if (equal >= kHashSamples) {
      lag_ = lag;
      equal_ = equal;
      changes_ = changes;
    }
  }
  if (anchors_.size() > ring_.size() / 8)
    std::erase_if(anchors_, [&](const auto& a) { return position_ - a.second > longest; });
}

void LostSampleFinder::examine_cell() {
  const std::size_t middle = (kCells / 2) * cell_;
  const auto begin = differences_.begin();
  const auto top = std::max_element(begin + static_cast<std::ptrdiff_t>(middle),
                                    begin + static_cast<std::ptrdiff_t>(middle + cell_));
  const auto place = static_cast<std::size_t>(top - begin);
  const auto largest = [&](std::size_t from, std::size_t to) {
    float value = 0.0F;
    for (std::size_t i = from; i < to; ++i) value = std::max(value, differences_[i]);
    return value;
  };
  if (*top <= kAlone * largest(0, place - kSmeared)) return;
  if (*top <= kAlone * largest(place + kSmeared + 1, differences_.size())) return;
  jumps_.push_back({first_difference_ + static_cast<std::int64_t>(place), *top});
}

void LostSampleFinder::watch_jumps(float sample) {
  if (position_ == 0) {
    first_difference_ = 1;
    return;
  }
  differences_.push_back(std::abs(sample - last_));
  if (differences_.size() < kCells * cell_) return;
  examine_cell();
  differences_.erase(differences_.begin(),
                     differences_.begin() + static_cast<std::ptrdiff_t>(cell_));
  first_difference_ += static_cast<std::int64_t>(cell_);
}

void LostSampleFinder::push(std::span<const float> samples) {
  for (const float sample : samples) {
    watch_rest(sample);
    watch_repeat(sample);
    watch_jumps(sample);
    last_ = sample;
    ++position_;
  }
}

LostSamples LostSampleFinder::finish() {
  if (lag_ > 0) end_repeat();
  LostSamples lost;
  const auto seconds = [&](std::int64_t n) { return static_cast<double>(n) / sample_rate_; };
  for (const Rest& rest : rests_)
    if (std::min(rest.before, rest.after) >= kRestSteps * step_)
      lost.stuck.push_back({seconds(rest.from), seconds(rest.to)});
  for (const Jump& jump : jumps_)
    if (jump.height >= kJumpSteps * step_)
      lost.jumps.push_back({seconds(jump.at - 1), seconds(jump.at)});
  const bool computed =
      static_cast<double>(repeated_samples_) > kMostRepeated * static_cast<double>(position_);
  if (!computed) lost.repeated = merged(std::move(repeated_));
  lost.stuck = merged(std::move(lost.stuck));
  lost.jumps = merged(std::move(lost.jumps));
  return lost;
}

}  // namespace howl
