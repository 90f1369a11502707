#pragma once

#include "dsp/speed_curve.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Everything that a four-stroke engine's own cycle makes lies at half orders. They are a ruler:
/// the take's speed, put right by them where they are heard.
struct EngineGrid {
  SpeedCurve speed;
  double sigma{};   ///< relative standard deviation of `speed` as a whole
  double smear{};   ///< relative standard deviation of what is left of its wander along the take
  bool measured{};  ///< read off the engine's own lines; else `speed` is the record as it was

  /// How far from a half order a line may be read that belongs there: the lobe, and 2.5 deviations.
  /// A maximum tells its place more closely than its lobe is wide: for one, give the deviation to
  /// which it is read instead of the spacing.
  double tolerance_at(double order, double line_spacing) const;
  /// Whether what is read at `order` can be no half order. Never, where the tolerance closes half
  /// of the gap between two of them.
  bool clear_of_half_orders(double order, double line_spacing) const;
};

/// Relative standard deviation of a take's speed record: its own error, and what its lag makes of a
/// changing speed.
double speed_sigma(const TakeAudio& take);

/// Streams the take once. Looks for the scale, and where the record may lag for the lag, that puts
/// most of the strong lines below order 10 on half orders, in blocks of 16 revolutions. Taken where
/// that is 60 % of them, by height; else the record stays as it is. A record that is good to 0.1 %
/// is not touched.
EngineGrid engine_grid(const TakeAudio& take);

}  // namespace howl
