#pragma once

#include <optional>

#include "dsp/units.h"

namespace howl {

/// The computer's clocks at one moment, none of which anybody can set: one that stands still while
/// the computer sleeps, and one that does not.
struct ClockReadings {
  Seconds awake;
  Seconds always;
};

ClockReadings read_clocks();

/// Notices that the computer slept between two looks.
class SleepWatch {
 public:
  explicit SleepWatch(ClockReadings start) : before_(start) {}
  /// How long it slept since the last look; none: under half a second, which is not worth a word.
  std::optional<Seconds> look(ClockReadings now);

 private:
  ClockReadings before_;
};

}  // namespace howl
