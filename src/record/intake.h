#pragma once

#include <atomic>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "src/record/spsc_ring.h"

namespace howl {

/// A place where sound was lost on its way from the device.
struct LostSound {
  std::uint64_t position{};  ///< frames that arrived before it
  /// How many were lost here, if that is known: not where the device itself lost them.
  std::optional<std::uint64_t> frames;
};

/// Between the device's own thread, which must never wait, and the thread that writes. What comes
/// while the ring is full is lost and counted; the place is handed on with the sound.
class Intake {
 public:
  /// Room for `frames` frames or more. Allocates, once.
  Intake(int channels, std::size_t frames);

  /// The device's thread: whole frames, channels interleaved. No locks, allocation, system calls.
  void take(std::span<const float> frames, bool device_lost_some) noexcept;

  /// The writing thread: the oldest whole frames that fit into `out`, up to the next loss; returns
  /// how many frames.
  std::size_t read(std::span<float> out) noexcept;
  /// The writing thread: the loss at the place that was read up to, once.
  std::optional<LostSound> next_loss() noexcept;

  /// Any thread: frames that came since the beginning, lost ones not counted.
  std::uint64_t arrived() const noexcept { return arrived_.load(std::memory_order_relaxed); }
  /// Any thread: frames lost for want of room.
  std::uint64_t lost() const noexcept { return lost_.load(std::memory_order_relaxed); }
  int channels() const noexcept { return static_cast<int>(channels_); }

 private:
  struct Mark {
    std::uint64_t position;
    std::uint64_t frames;
    bool counted;
  };
  void take_within_room(std::span<const float> frames, std::uint64_t count,
                        bool device_lost_some) noexcept;

  std::size_t channels_;
  SpscRing<float> samples_;
  SpscRing<Mark> marks_;
  std::uint64_t lost_since_{};  // the device's thread alone: not yet marked
  std::uint64_t read_{};        // the writing thread alone
  std::atomic<std::uint64_t> arrived_{};
  std::atomic<std::uint64_t> lost_{};
};

}  // namespace howl
