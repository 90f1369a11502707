#include "src/record/record_take.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <mutex>
#include <system_error>
#include <thread>
#include <utility>

#include "dsp/live_picture.h"
#include "src/errors.h"
#include "src/files/descriptor.h"
#include "src/files/user_folders.h"
#include "src/record/one_channel.h"
#include "src/record/sleep_watch.h"

namespace howl {

namespace fs = std::filesystem;

namespace {

using Clock = std::chrono::steady_clock;

constexpr std::chrono::milliseconds watch_every{30};
/// A device that says it lives but delivers nothing for so long is lost.
constexpr std::chrono::seconds patience_with_device{3};

WavLayout layout_of(const RecordOrder& order) {
  return {.coding = order.coding,
          .sample_rate = static_cast<std::uint32_t>(order.take.sample_rate),
          .channels = static_cast<std::uint16_t>(order.take.channels)};
}

std::optional<SpeedCurve> speed_while_recording(const Take& take) {
  const auto* entered = std::get_if<EnteredSpeed>(&take.speed);
  return entered == nullptr ? std::nullopt
                            : std::optional(SpeedCurve::constant(entered->speed, 0.0));
}

/// The live picture of the probe's channel, filled in one thread and looked at in another.
class SharedPicture {
 public:
  explicit SharedPicture(const Take& take)
      : channel_(static_cast<std::size_t>(take.channel - 1)),
        channels_(static_cast<std::size_t>(take.channels)),
        picture_({.sample_rate = take.sample_rate, .speed = speed_while_recording(take)}) {}

  void push(std::span<const float> frames) {
    take_channel(frames, channels_, channel_, samples_);
    const std::scoped_lock lock(mutex_);
    picture_.push(samples_);
  }
  std::optional<LiveTone> tone() const {
    const std::scoped_lock lock(mutex_);
    return picture_.tone();
  }

 private:
  std::size_t channel_;
  std::size_t channels_;
  std::vector<float> samples_;
  mutable std::mutex mutex_;
  LivePicture picture_;
};

RecorderSettings settings_of(const RecordOrder& order, UnfinishedTake& take,
                             SharedPicture& picture) {
  RecorderSettings settings{.file = take.recording(), .layout = layout_of(order)};
  settings.length = order.length;
  settings.start_level = order.start_level;
  if (order.monitor) settings.monitor = order.monitor_settings;
  settings.listener = [&picture](std::span<const float> frames) { picture.push(frames); };
  settings.on_overrun = [&take](const std::vector<Overrun>& all) { take.note_overruns(all); };
  return settings;
}

class DeviceWatch {
 public:
  bool lost(const SoundStream& stream, std::uint64_t arrived) {
    if (!stream.alive()) return true;
    if (arrived != arrived_) {
      arrived_ = arrived;
      since_ = Clock::now();
    }
    return Clock::now() - since_ > patience_with_device;
  }

 private:
  std::uint64_t arrived_{};
  Clock::time_point since_ = Clock::now();
};

Seconds left_until(Clock::time_point moment) {
  const std::chrono::duration<double> left = moment - Clock::now();
  return Seconds(std::max(left.count(), 0.0));
}

/// Watches over one recording until something ends it.
class Run {
 public:
  Run(Recorder& recorder, const SoundStream& stream, const SharedPicture& picture,
      const RecordOrder& order, const RecordingWatch& watch)
      : recorder_(&recorder),
        picture_(&picture),
        stream_(&stream),
        watch_(&watch),
        rate_(order.take.sample_rate),
        begin_at_(Clock::now() + std::chrono::duration_cast<Clock::duration>(
                                     std::chrono::duration<double>(order.countdown.value))) {}

  RecordingEnd until_the_end() {
    for (;;) {
      if (const auto end = look()) return *end;
      std::this_thread::sleep_for(watch_every);
    }
  }
  const std::vector<std::string>& notes() const { return notes_; }

 private:
  std::optional<RecordingEnd> look() {
    begin_if_due();
    const RecorderStatus status = recorder_->status();
    watch_->show({.status = status,
                  .until_begin = begun_ ? Seconds{} : left_until(begin_at_),
                  .tone = picture_->tone()});
    note_sleep(status);
    if (status.phase == RecorderPhase::failed) return RecordingEnd::cannot_write;
    if (status.phase == RecorderPhase::full) return RecordingEnd::length_reached;
    if (watch_->stop()) return RecordingEnd::told_to_stop;
    if (device_.lost(*stream_, status.arrived)) return RecordingEnd::device_lost;
    return std::nullopt;
  }

  void begin_if_due() {
    if (begun_ || Clock::now() < begin_at_) return;
    recorder_->begin();
    begun_ = true;
  }

  void note_sleep(const RecorderStatus& status) {
    const auto slept = sleep_.look(read_clocks());
    if (!slept || status.phase != RecorderPhase::recording) return;
    notes_.push_back(
        fmt::format("the computer slept for {:.1f} s, about {:.1f} s after the take began; that "
                    "part is missing",
                    slept->value, recorded_seconds(status)));
  }

  double recorded_seconds(const RecorderStatus& status) const {
    return static_cast<double>(status.frames) / rate_;
  }

  Recorder* recorder_;
  const SharedPicture* picture_;
  const SoundStream* stream_;
  const RecordingWatch* watch_;
  double rate_;
  Clock::time_point begin_at_;
  bool begun_{};
  DeviceWatch device_;
  SleepWatch sleep_{read_clocks()};
  std::vector<std::string> notes_;
};

std::optional<Error> fault_of(const RecordOrder& order, const RecordedSound& sound) {
  const double seconds = static_cast<double>(sound.status.frames) / order.take.sample_rate;
  if (const auto& failure = sound.status.failure)
    return Error(failure->fault(), failure->where(),
                 fmt::format("{}; recording ended after {:.1f} s", failure->problem(), seconds),
                 failure->remedy());
  if (sound.end == RecordingEnd::device_lost)
    return Error(Fault::machine, fmt::format("device '{}'", order.device.name),
                 fmt::format("was lost after {:.1f} s", seconds),
                 "check its cable, or go on with another --device");
  return std::nullopt;
}

/// Places to save to when the case folder is gone: here, at home, where temporary files go.
std::vector<fs::path> other_places() {
  std::vector<fs::path> places{"."};
  if (const auto home = home_folder()) places.push_back(*home);
  std::error_code none;
  if (const fs::path temporary = fs::temp_directory_path(none); !none) places.push_back(temporary);
  return places;
}

fs::path free_name(const fs::path& folder, const std::string& name) {
  for (int n = 1;; ++n) {
    fs::path file = folder / fmt::format("saved-{}-{}", n, name);
    if (!is_there(file)) return file;
  }
}

void save_elsewhere(const Recorder& recorder, RecordedSound& sound) {
  const std::string name = sound.take.recording().filename().string();
  for (const fs::path& place : other_places()) {
    try {
      const fs::path file = fs::absolute(free_name(place, name)).lexically_normal();
      recorder.save_copy(file);
      sound.saved_elsewhere = file;
      sound.notes.push_back(fmt::format(
          "the take so far was saved as {}; add it to a case with 'add'", file.string()));
      return;
    } catch (const std::exception&) {
      continue;  // the next place may do
    }
  }
  sound.notes.emplace_back("the take so far could not be saved anywhere");
}

}  // namespace

RecordedSound record_sound(SoundSystem& system, const RecordOrder& order,
                           const RecordingWatch& watch) {
  RecordedSound sound{.take = UnfinishedTake(order.folder, order.take, order.make_point)};
  SharedPicture picture(order.take);
  const auto begun = [&] {
    try {
      auto recorder = std::make_unique<Recorder>(settings_of(order, sound.take, picture));
      auto stream = system.open({.device = order.device,
                                 .channels = order.take.channels,
                                 .sample_rate = order.take.sample_rate,
                                 .monitor = order.monitor},
                                *recorder);
      return std::pair(std::move(recorder), std::move(stream));
    } catch (...) {
      sound.take.discard();  // there is no sound in it yet
      throw;
    }
  };
  auto [recorder, stream] = begun();
  Run run(*recorder, *stream, picture, order, watch);
  sound.end = run.until_the_end();
  stream.reset();
  sound.status = recorder->finish();
  sound.notes = run.notes();
  sound.fault = fault_of(order, sound);
  if (!recorder->file_is_in_place()) save_elsewhere(*recorder, sound);
  return sound;
}

}  // namespace howl
