#pragma once

#include <algorithm>
#include <atomic>
#include <bit>
#include <cstddef>
#include <span>
#include <type_traits>
#include <vector>

namespace howl {

/// A queue between one thread that pushes and one that pops. Neither ever waits for the other,
/// takes a lock, allocates, or calls the system (Lamport 1983: two counters, each written by one
/// side). Both counters run on for ever; 2^64 items at 384 kHz last longer than any device.
template <class Item>
class SpscRing {
  static_assert(std::is_trivially_copyable_v<Item>);

 public:
  /// Holds at least `least` items. Allocates, once.
  explicit SpscRing(std::size_t least)
      : items_(std::bit_ceil(std::max<std::size_t>(least, 2))), mask_(items_.size() - 1) {}

  std::size_t capacity() const noexcept { return items_.size(); }

  /// Pushing side: how many items fit now; may grow meanwhile, never shrink.
  std::size_t space() const noexcept {
    return capacity() -
           (pushed_.load(std::memory_order_relaxed) - popped_.load(std::memory_order_acquire));
  }
  /// Pushing side: all of them or, where they do not fit, none.
  bool push(std::span<const Item> items) noexcept {
    if (items.size() > space()) return false;
    const std::size_t at = pushed_.load(std::memory_order_relaxed);
    const std::size_t first = std::min(items.size(), capacity() - (at & mask_));
    std::copy_n(items.data(), first, items_.data() + (at & mask_));
    std::copy_n(items.data() + first, items.size() - first, items_.data());
    pushed_.store(at + items.size(), std::memory_order_release);
    return true;
  }

  /// Popping side: how many items wait now; may grow meanwhile, never shrink.
  std::size_t size() const noexcept {
    return pushed_.load(std::memory_order_acquire) - popped_.load(std::memory_order_relaxed);
  }
  /// Popping side: the oldest items, as many as there are and fit; returns how many.
  std::size_t pop(std::span<Item> out) noexcept {
    const std::size_t count = std::min(out.size(), size());
    const std::size_t at = popped_.load(std::memory_order_relaxed);
    const std::size_t first = std::min(count, capacity() - (at & mask_));
    std::copy_n(items_.data() + (at & mask_), first, out.data());
    std::copy_n(items_.data(), count - first, out.data() + first);
    popped_.store(at + count, std::memory_order_release);
    return count;
  }
  /// Popping side: the oldest item, which stays; there must be one.
  const Item& front() const noexcept {
    return items_[popped_.load(std::memory_order_relaxed) & mask_];
  }

 private:
  std::vector<Item> items_;
  std::size_t mask_;
  // Apart, so that the two threads do not fight for one cache line.
  alignas(64) std::atomic<std::size_t> pushed_{};
  alignas(64) std::atomic<std::size_t> popped_{};
};

}  // namespace howl
