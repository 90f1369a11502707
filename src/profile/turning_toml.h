#pragma once

#include <optional>

#include "dsp/statistics.h"
#include "src/files/toml_reader.h"
#include "src/profile/source.h"

namespace howl {

/// The wheels on the ground and the gears before them.
struct Wheels {
  /// Metres that the vehicle travels in one turn of a wheel. From a small car's 165/65 R13 (1.7 m)
  /// to a pickup's 30 in tyre (1609.344 m / 672.27 = 2.39 m); the rim sizes are common practice.
  Interval circumference{1.65, 2.5};
  /// Turns of the output shaft for one turn of a wheel. Common practice: 2.5 (tall axle of a large
  /// engine) to 4.8 (van).
  Interval final_drive{2.5, 4.8};
};

/// From the keys of a table [wheels]: circumference, and final_drive as a ratio, a range or
/// { ring = teeth, pinion = teeth }. Throws Error that names line, key and remedy.
Wheels read_wheels(TomlReader in);

enum class TurnedBy { crank, belt, road, free, ringing };

/// What files say of how fast a source's shaft turns. Empty: not said.
struct TurningFacts {
  enum class Shaft { wheel, output };
  std::optional<TurnedBy> drive{};
  std::optional<Interval> ratio{};  ///< turns per crank turn
  std::optional<Interval> slip{};   ///< share that a belt loses
  std::optional<Shaft> shaft{};
  std::optional<Interval> turns_per_metre{};
  std::optional<Interval> hertz{};
};

/// Reads the keys drive, ratio, ratio_tolerance, gears, pulleys, slip, shaft, turns_per_metre and
/// hertz, as far as they are there, over what is known. Another drive than before forgets the rest.
/// Throws Error: keys that contradict each other or do not belong to the drive.
void read_turning(TomlReader& in, TurningFacts& known);

/// Throws Error through `in` where drive or a belt's ratio are not known.
Turning turning_of(const TomlReader& in, const TurningFacts& known, const Wheels& wheels);

}  // namespace howl
