#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <variant>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/units.h"

namespace howl {

struct TachoSettings {
  double sample_rate{};            ///< Hz, > 0
  double pulses_per_revolution{};  ///< of the crankshaft, > 0; 0.5 for a camshaft
};

/// A signal that can be played from its start as often as wanted: hands its samples, chunk after
/// chunk, to the function given. The size of the chunks does not change the result.
using SamplePlayer = std::function<void(const std::function<void(std::span<const float>)>&)>;

/// A pulse train understood.
struct TachoReading {
  std::vector<AnglePoint> angles;  ///< one a revolution, or one a pulse where those are rarer
  std::size_t pulses{};            ///< that were found and fit
  bool rising{};                   ///< pulses rise from the base line, else they fall
  std::vector<Seconds> missing;    ///< pulses that must have been there, added
  std::vector<Seconds> extra;      ///< pulses too many, ignored
  std::vector<Seconds> misfits;    ///< where the next pulse fits no whole number of periods
};

/// Why a channel cannot be used as a tacho.
struct TachoFailure {
  enum class Reason {
    no_pulses,      ///< nothing stands out from the base line
    too_few,        ///< fewer than five pulses, or less than two revolutions
    irregular,      ///< `percent` of the periods do not fit their neighbours
    missing_teeth,  ///< the same gap after every `pulses_between_gaps` pulses: a wheel with a gap
    interrupted,    ///< no pulses for longer than nine periods, from `at` on
  } reason{};
  double percent{};
  std::size_t pulses_between_gaps{};
  Seconds at{};
};

/// Finds the pulses of a tacho channel and the crankshaft angle.
///
/// Base line, height and direction come from the medians and extremes of blocks of one second; a
/// pulse is timed where it passes half its height, by a straight line between samples, and only
/// counted after the signal was back below a quarter. A pulse that comes early by more than 0.3 of
/// a period is ignored; a pulse late by a whole number of periods ± 0.3 means missing ones. The
/// period expected follows a straight line through the last rates, so that it may change by a fifth
/// from one pulse to the next. Memory grows with the pulses, not with the samples.
std::variant<TachoReading, TachoFailure> read_tacho(const SamplePlayer& play,
                                                    const TachoSettings& settings);

}  // namespace howl
