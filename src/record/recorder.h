#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <mutex>
#include <optional>
#include <span>
#include <string>
#include <thread>
#include <vector>

#include "dsp/level_meter.h"
#include "dsp/units.h"
#include "src/audio/growing_wav.h"
#include "src/case/case.h"
#include "src/errors.h"
#include "src/record/intake.h"
#include "src/record/signal_start.h"
#include "src/record/sound_system.h"

namespace howl {

struct RecorderSettings {
  std::filesystem::path file;  ///< must not be there yet
  WavLayout layout;
  /// The take ends by itself after so much sound; none: when it is told to.
  std::optional<Seconds> length{};
  /// Begins when channel 1 reaches this level (dB re full-scale sine) instead of at once, with the
  /// half second before it.
  std::optional<Decibel> start_level{};
  /// How long the disk may keep the writer waiting without a loss.
  Seconds buffer{16.0};
  /// Recording ends before the disk has less room than this, so that the case can be saved.
  std::uint64_t room_to_leave{4'000'000};
  /// Called in the writing thread with all that comes, recorded or not, for meters and pictures.
  std::function<void(std::span<const float> frames)> listener{};
  /// Called in the writing thread, soon after sound was lost, with all places so far.
  std::function<void(const std::vector<Overrun>&)> on_overrun{};
};

enum class RecorderPhase {
  listening,  ///< nothing is kept yet
  waiting,    ///< for the signal
  recording,
  full,    ///< the length is reached
  failed,  ///< nothing more can be written; what was written is safe
};

struct RecorderStatus {
  RecorderPhase phase{};
  std::uint64_t frames{};            ///< recorded so far
  std::uint64_t promised{};          ///< of these, on the disk with a header that says so
  std::uint64_t arrived{};           ///< from the device, recorded or not
  std::vector<MeterReading> meters;  ///< one a channel; highest and clipped since recording began
  std::vector<Overrun> overruns;
  std::optional<Error> failure;
};

/// Takes what a sound device delivers, and writes it to a file as it comes. A thread of its own
/// writes; the header is made valid every half second. Lost frames whose number is known are
/// written as silence, so that time stays right.
class Recorder final : public BlockTaker {
 public:
  /// Makes the file. Throws Error.
  explicit Recorder(RecorderSettings settings);
  ~Recorder() override;
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  void take(const SoundBlock& block) noexcept override;

  /// From listening to recording, or to waiting for the signal.
  void begin();
  RecorderStatus status() const;
  /// Writes what still waits, and closes the file. The stream must have ended. Only once.
  RecorderStatus finish();
  /// Where the file is no longer in its place: saves all sound to another, which must not be there.
  void save_copy(const std::filesystem::path& other) const { wav_.copy_to(other); }
  bool file_is_in_place() const { return wav_.is_in_place(); }

 private:
  using Clock = std::chrono::steady_clock;

  void write_until_told();
  void drain();
  void note_loss(const LostSound& loss);
  void hear(std::span<const float> frames);
  void keep(std::span<const float> frames);
  void keep_before_signal(std::span<const float> frames);
  std::size_t signal_in(std::span<const float> frames);
  void write(std::span<const float> frames);
  void write_silence(std::uint64_t frames);
  void promise_in_time();
  void require_place_and_room() const;
  void tell_overruns();
  template <class Deed>
  void unless_it_fails(Deed deed);
  RecorderPhase phase() const;
  void set_phase(RecorderPhase phase);

  RecorderSettings settings_;
  std::size_t channels_;
  std::uint64_t most_frames_;
  Intake intake_;
  GrowingWav wav_;

  // The writing thread alone.
  std::vector<LevelMeter> meters_;
  std::vector<float> piece_;
  std::vector<float> one_channel_;
  std::vector<float> before_signal_;
  std::optional<SignalStart> signal_;
  Clock::time_point promised_at_;
  std::size_t overruns_told_{};

  mutable std::mutex mutex_;
  std::condition_variable wake_;
  RecorderStatus status_;
  bool told_to_stop_{};
  std::thread writer_;
};

}  // namespace howl
