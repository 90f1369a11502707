#pragma once

#include <cmath>
#include <cstdint>

namespace howl {

/// Counts samples of one channel that sit flat at an extreme: runs of at least three equal ones at
/// 0.985 of full scale or more.
class ClipCounter {
 public:
  void add(float sample) {
    run_ = std::abs(sample) < kLevel ? 0 : sample == last_ ? run_ + 1 : 1;
    last_ = sample;
    if (run_ == kRun)
      clipped_ += kRun;
    else if (run_ > kRun)
      ++clipped_;
  }
  std::int64_t clipped() const { return clipped_; }

 private:
  static constexpr float kLevel = 0.985F;
  static constexpr std::int64_t kRun = 3;

  float last_{};
  std::int64_t run_{};
  std::int64_t clipped_{};
};

}  // namespace howl
