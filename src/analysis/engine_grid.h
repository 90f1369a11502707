#pragma once

#include "dsp/spectrum.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Everything that a four-stroke engine's own cycle makes lies at half orders. Where they stand in
/// a take's order spectra, given that its speed is not known exactly.
struct EngineGrid {
  double scale{1.0};  ///< order read off the take's speed over true order
  double sigma{};     ///< relative standard deviation of `scale`
  bool measured{};    ///< read off the engine's own lines; else by the speed record alone

  /// Half a gap is closed at 0.25: half orders and what lies between cannot be told apart.
  double tolerance_at(double order, double line_spacing) const;
  /// Whether `order`, as read, can be no half order: farther than the lobe of a line and 2.5 sigma
  /// from the nearest.
  bool clear_of_half_orders(double order, double line_spacing) const;
};

/// Relative standard deviation of a take's speed record: its own error, and what its lag makes of a
/// changing speed.
double speed_sigma(const TakeAudio& take);

/// Measures the grid in the take's own order spectrum, whose lowest half orders cannot be taken for
/// each other: at least three of them must agree on one scale within 0.2 %, and be more than half
/// of what is found near half orders. Else the speed record is all there is.
EngineGrid engine_grid(const PowerSpectrum& orders, double speed_sigma);

}  // namespace howl
