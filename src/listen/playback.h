#pragma once

#include <array>
#include <atomic>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "dsp/limiter.h"
#include "dsp/units.h"
#include "src/listen/prepared_sound.h"
#include "src/record/sound_system.h"
#include "src/record/spsc_ring.h"

namespace howl {

/// Loudest that is played, re full scale: as for headphones while recording (monitor.h).
inline constexpr Decibel kLoudestPlayed{-12.0};
/// From one sound to another, into a loop again, and at both ends.
inline constexpr double kCrossfadeSeconds = 0.01;

/// What a device plays. take() runs in the device's own thread: no locks, allocation, system calls.
/// All else belongs to one other thread at a time, and says what is to happen; sounds have to live
/// until uses() says that they are no longer needed.
class Playback final : public BlockTaker {
 public:
  explicit Playback(double rate);

  void take(const SoundBlock& block) noexcept override;

  /// Plays `sound` from a time of it on, whatever plays now. False: not now, ask again.
  bool play(const PreparedSound* sound, double from_seconds) noexcept;
  /// Goes over to `sound` at the place that is played now; nothing where nothing plays any more.
  bool change_to(const PreparedSound* sound) noexcept;
  bool seek(double seconds) noexcept;
  bool stop() noexcept;
  void loop(bool on) noexcept { loops_.store(on, std::memory_order_relaxed); }
  void volume(Decibel gain) noexcept;

  /// Whether the device may still read `sound`.
  bool uses(const PreparedSound* sound) const noexcept;
  /// False once it has ended, or was stopped.
  bool playing() const noexcept;
  /// Seconds of the take, from the sound's beginning.
  double at() const noexcept { return at_.load(std::memory_order_relaxed); }
  /// Seconds of the take that pass in one as it is heard.
  double pace() const noexcept { return pace_.load(std::memory_order_relaxed); }
  /// Whether the sound had to be held below kLoudestPlayed just now.
  bool held_down() const noexcept { return held_down_.load(std::memory_order_relaxed); }
  /// Whether it waits for sound that is not prepared yet.
  bool waits() const noexcept { return waits_.load(std::memory_order_relaxed); }
  std::uint64_t blocks() const noexcept { return blocks_.load(std::memory_order_relaxed); }

 private:
  struct Order {
    enum class Kind { play, change, seek, stop } kind;
    const PreparedSound* sound;
    double seconds;
  };
  struct Head {
    const PreparedSound* sound;
    std::size_t next;
    float gain;
  };

  bool give(const Order& order) noexcept;
  void take_order() noexcept;
  void carry_out(const Order& order) noexcept;
  void go_over_to(const PreparedSound* sound, std::size_t at) noexcept;
  void turn_at_end() noexcept;
  float sample_of(Head& head) noexcept;
  float next_sample() noexcept;
  void publish() noexcept;

  double rate_;
  std::size_t fade_length_;
  float smoothing_;
  SpscRing<Order> orders_{64};
  std::uint64_t given_{};  // the other thread alone

  // The device's thread alone.
  Limiter limiter_;
  Head now_{};
  Head before_{};
  std::size_t fading_{};  // samples of the crossfade that are left
  float volume_now_{};
  std::uint64_t carried_out_{};

  std::atomic<bool> loops_{};
  std::atomic<float> volume_{};
  std::atomic<double> at_{};
  std::atomic<double> pace_{1.0};
  std::atomic<bool> held_down_{};
  std::atomic<bool> waits_{};
  std::atomic<std::uint64_t> blocks_{};
  std::array<std::atomic<const PreparedSound*>, 2> heads_{};
  std::atomic<std::uint64_t> done_{};
  std::array<const PreparedSound*, 64>
      asked_{};  // the other thread alone: sounds of the last orders
};

}  // namespace howl
