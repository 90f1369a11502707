#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "dsp/pitch_law.h"

namespace howl {

/// Neighbouring points of one take, condensed: their errors are not independent, so that a hundred
/// frames of a sweep must not count as a hundred measurements. Log means, so that any power law
/// that holds for the points holds for the station.
struct PitchStation {
  double x{};      ///< ln n
  double y{};      ///< ln f
  double v{};      ///< ln road speed in km/h; 0 where it is not known
  double time{};   ///< s into the take
  double sigma{};  ///< of y, from the scatter of the points and their own errors
  double speed_sigma{};
  double speed_rate{};
  double lag_sigma{};
  std::size_t take{};
};

/// Whether every field is finite and possible.
bool usable(const PitchPoint& point);

/// Stations of all usable points: of each take bins of equal width in ln n, `stations_a_take` at
/// most and fewer where many sweeps share the work. A take whose speed is steady is one station.
std::vector<PitchStation> pitch_stations(std::span<const PitchPoint> points,
                                         const PitchLawParameters& parameters);

/// Largest over smallest of what `field` is the logarithm of.
double ratio_of(const std::vector<PitchStation>& stations, double PitchStation::*field);
/// Largest over smallest ratio of engine to road speed: 1 in one gear.
double gearing_ratio(const std::vector<PitchStation>& stations);
/// Fastest over slowest speed of the usable points themselves: stations are means, and reach less
/// far.
double speed_ratio_of(std::span<const PitchPoint> points);
/// How many values of `field` differ by at least 1.5 %.
std::size_t distinct_speeds(const std::vector<PitchStation>& stations, double PitchStation::*field);

}  // namespace howl
