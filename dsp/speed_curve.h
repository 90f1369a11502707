#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "dsp/units.h"

namespace howl {

struct SpeedPoint {
  Seconds time;
  Rpm speed;
  friend bool operator==(const SpeedPoint&, const SpeedPoint&) = default;
};

/// Crankshaft angle at one moment; `revolutions` counts from any origin.
struct AnglePoint {
  Seconds time;
  double revolutions;
};

/// Engine speed over a take, as a continuous crankshaft angle.
///
/// The angle is a cubic Hermite spline, so that speed is continuous; between entered or logged
/// points speed is linear and the angle exact. Outside the first and last node the speed stays as
/// it was there. `relative_error` is one standard deviation of the speed as a fraction (0.005 = 0.5
/// %).
class SpeedCurve {
 public:
  /// `speed` > 0, else std::invalid_argument; the same for all makers below.
  static SpeedCurve constant(Rpm speed, double relative_error);
  /// Speed linear between points; times strictly rising, at least one point.
  static SpeedCurve through(std::span<const SpeedPoint> points, double relative_error);
  /// From tacho pulses: times strictly rising, revolutions strictly rising, at least two points.
  /// Slopes by the parabola through three neighbours (Fyfe and Munck 1997, from memory).
  static SpeedCurve through_angles(std::span<const AnglePoint> points, double relative_error);

  /// The same curve, everything `by` later.
  SpeedCurve later(Seconds by) const;

  Rpm at(Seconds time) const;
  double revolutions_at(Seconds time) const;
  /// Inverse of revolutions_at.
  Seconds time_at(double revolutions) const;
  /// Slowest and fastest speed between two times.
  struct Range {
    Rpm low;
    Rpm high;
  };
  Range range(Seconds from, Seconds to) const;
  double relative_error() const { return relative_error_; }

 private:
  struct Node {
    double time;
    double revolutions;
    double rate;  // revolutions per second
  };
  SpeedCurve(std::vector<Node> nodes, double relative_error);
  std::size_t segment_of_time(double time) const;

  std::vector<Node> nodes_;
  double relative_error_{};
};

}  // namespace howl
