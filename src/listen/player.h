#pragma once

#include <condition_variable>
#include <cstdint>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

#include "dsp/units.h"
#include "src/errors.h"
#include "src/listen/playback.h"
#include "src/listen/prepared_sound.h"
#include "src/record/sound_system.h"

namespace howl {

struct PlayerStatus {
  bool playing{};
  double at{};        ///< seconds of the take, from the beginning of what is played: made ready
  double heard_at{};  ///< and what is heard by now, as far as the device says how late it is
  bool held_down{};   ///< it is kept below kLoudestPlayed
  bool waits{};       ///< for sound that is still being prepared
};

/// Plays prepared sound on the usual output. Opening and closing a device takes its time and is
/// done in a thread of the player's own; all that has no 'waits' beside it returns at once, and may
/// be called from any thread.
class Player {
 public:
  using SoundPointer = std::shared_ptr<const PreparedSound>;

  explicit Player(OpenSoundSystem open);
  /// Waits until the device is closed.
  ~Player();
  Player(const Player&) = delete;
  Player& operator=(const Player&) = delete;

  /// Opens the device unless it is open, and says its sample rate in Hz. Waits. Throws Error
  /// (machine fault) where there is none, or it does not open.
  double open_device();
  /// Waits until the device is free for others.
  void close_device();

  /// From a second of it on. Does nothing where no device is open.
  void play(SoundPointer sound, double from_seconds);
  /// Goes over to another sound at the place that is played, where something plays.
  void change_to(SoundPointer sound);
  void seek(double seconds);
  void stop();
  void loop(bool on);
  void volume(Decibel gain);

  PlayerStatus status();
  /// Why playing ended by itself, once.
  std::optional<Error> take_fault();

 private:
  struct Device;
  void keep_device();
  void open_now(std::unique_lock<std::mutex>& lock);
  void close_now(std::unique_lock<std::mutex>& lock);
  void watch_device();
  void let_go_of_unused();

  OpenSoundSystem open_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::unique_ptr<Device> device_;
  std::vector<SoundPointer> held_;
  std::optional<Error> open_fault_;  ///< for whoever waits for the device
  std::optional<Error> fault_;
  bool wanted_{};  ///< that a device is open
  bool busy_{};    ///< one is being opened or closed
  bool loops_{};
  Decibel volume_{-60.0};
  bool ending_{};
  std::thread keeper_;
};

}  // namespace howl
