#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/statistics.h"
#include "dsp/time_spans.h"
#include "src/case/case.h"
#include "src/speed/speed_log.h"

namespace howl {

inline constexpr std::string_view engine_off_source = "engine off";

inline constexpr std::string_view sound_source = "sound";

/// What was found where the speed was to be found in the sound.
struct FoundSpeed {
  struct Rival {
    double rpm{};
    double probability{};
  };
  double rpm{};  ///< mean over the take
  Interval rpm_ci95;
  Interval range;               ///< slowest and fastest, rpm
  std::vector<Rival> rivals{};  ///< means it may be instead with 1 % or more, likeliest first
};

/// The speed of a take, ready for use, with what had to be repaired or assumed on the way.
///
/// Its relative error (one standard deviation) is assumed: entered 0.5 %, at least 8 rpm, as read
/// from a gauge or scan tool; an entered ramp 1 %; a log 0.3 %; tacho pulses 0.05 %. One
/// found in the sound brings its own.
struct TakeSpeed {
  SpeedCurve curve;    ///< without meaning where the engine is off
  std::string source;  ///< "entered", "logged", "tacho", "sound", "engine off"
  std::vector<std::string> warnings;
  std::vector<RoadSpeedPoint> road;  ///< from the log, where it has them
  /// Stretches in which the log or the pick-up says the speed; empty: the source says all of it.
  /// Elsewhere (without_speed) the curve only joins them, and the warnings say where.
  TimeSpans known{};
  std::optional<FoundSpeed> found{};  ///< only where it comes from the sound
};

/// Resolves a take's speed source: reads its log, or its tacho channel. Paths of the take are taken
/// relative to `folder`. Throws Error, also where a speed is not plausible, and where a log or
/// tacho covers less than 80 % of the recording.
///
/// A speed to be found in the sound: with the engine's `cylinders` where they are known. Where the
/// sound leaves it open, Error that names the speeds it may have been.
TakeSpeed speed_of_take(const std::filesystem::path& folder, const Take& take,
                        std::optional<int> cylinders);

}  // namespace howl
