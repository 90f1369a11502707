#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <span>
#include <vector>

namespace howl {

/// Sound made ready to be played, one channel: filled by one thread from its beginning on, and
/// played by another meanwhile, neither of which waits for the other. All its memory is taken at
/// once: 4 bytes a sample.
class PreparedSound {
 public:
  /// `slowness`: how many seconds of it are one of the take.
  PreparedSound(std::size_t samples, double rate, double slowness)
      : samples_(samples), rate_(rate), slowness_(slowness) {}

  // The thread that fills.
  /// What does not fit any more is left out.
  void append(std::span<const float> more) noexcept {
    const std::size_t at = ready_.load(std::memory_order_relaxed);
    const std::size_t count = std::min(more.size(), samples_.size() - at);
    std::copy_n(more.data(), count, samples_.data() + at);
    ready_.store(at + count, std::memory_order_release);
  }
  /// No more comes; where it is shorter than was promised, it ends there.
  void complete() noexcept { complete_.store(true, std::memory_order_release); }

  // Any thread.
  std::size_t ready() const noexcept { return ready_.load(std::memory_order_acquire); }
  bool is_complete() const noexcept { return complete_.load(std::memory_order_acquire); }
  std::size_t promised() const noexcept { return samples_.size(); }
  /// Samples in all, as far as is known by now.
  std::size_t length() const noexcept { return is_complete() ? ready() : samples_.size(); }
  float at(std::size_t sample) const noexcept { return samples_[sample]; }
  double rate() const noexcept { return rate_; }
  /// Seconds of the take from the beginning to a sample.
  double seconds_at(std::size_t sample) const noexcept {
    return static_cast<double>(sample) / (rate_ * slowness_);
  }
  /// Seconds of the take that pass in one as it is heard.
  double pace() const noexcept { return 1.0 / slowness_; }
  std::size_t sample_at(double seconds) const noexcept {
    return static_cast<std::size_t>(std::max(0.0, seconds) * rate_ * slowness_);
  }

  /// What it is multiplied by, for matched levels.
  std::atomic<float> gain{1.0F};

 private:
  std::vector<float> samples_;
  double rate_;
  double slowness_;
  std::atomic<std::size_t> ready_{};
  std::atomic<bool> complete_{};
};

}  // namespace howl
