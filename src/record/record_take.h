#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "dsp/live_picture.h"
#include "src/audio/growing_wav.h"
#include "src/case/case.h"
#include "src/errors.h"
#include "src/keeping/unfinished_take.h"
#include "src/record/recorder.h"
#include "src/record/sound_system.h"

namespace howl {

/// What to record, and how.
struct RecordOrder {
  std::filesystem::path folder;  ///< of the case
  Take take;                     ///< as for add_take(), with its channels and sample rate
  bool make_point{};
  SampleCoding coding{SampleCoding::pcm24};
  std::optional<Seconds> length;  ///< none: until told to stop
  Seconds countdown{};            ///< before it begins
  std::optional<Decibel> start_level;
  SoundDevice device;
  std::optional<SoundDevice> monitor;  ///< headphones
  MonitorSettings monitor_settings{};
};

/// What the person at the engine sees, some ten times a second.
struct RecordingView {
  RecorderStatus status;
  Seconds until_begin{};         ///< of the countdown; 0 once it is over
  std::optional<LiveTone> tone;  ///< the strongest that the probe hears
};

/// How a recording is watched and ended from outside; called in the thread of record_sound().
struct RecordingWatch {
  std::function<void(const RecordingView&)> show = [](const RecordingView&) {};
  /// Asked often: whether to end now and keep what there is.
  std::function<bool()> stop = [] { return false; };
};

enum class RecordingEnd {
  length_reached,
  told_to_stop,
  device_lost,
  cannot_write,  ///< disk full, folder gone …
};

struct RecordedSound {
  UnfinishedTake take;  ///< still to be kept or discarded
  RecordingEnd end{};
  RecorderStatus status{};
  /// What happened on the way, for the user.
  std::vector<std::string> notes{};
  /// Why it ended before it should, and what to do.
  std::optional<Error> fault{};
  /// Where the sound was saved instead, because the case folder was gone; then the take is void.
  std::optional<std::filesystem::path> saved_elsewhere{};
};

/// Records one take until its length is reached, it is told to stop, the device is lost or the file
/// cannot be written; whatever came until then is in the file. Throws Error where it cannot begin.
RecordedSound record_sound(SoundSystem& system, const RecordOrder& order,
                           const RecordingWatch& watch);

}  // namespace howl
