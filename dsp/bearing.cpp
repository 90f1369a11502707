#include "dsp/bearing.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

namespace howl {

namespace {

void require_geometry(const BearingGeometry& b) {
  const bool fits = b.elements >= 1 && b.element_diameter > 0.0 &&
                    b.pitch_diameter > b.element_diameter && b.contact_angle >= 0.0 &&
                    b.contact_angle < 0.5 * std::numbers::pi;
  if (!fits) throw std::invalid_argument("bearing: the geometry is outside its ranges");
}

Interval spread(double a, double b, double slip) {
  return {std::min(a, b) * (1.0 - slip), std::max(a, b) * (1.0 + slip)};
}

BearingGeometry with_angle(BearingGeometry bearing, double angle) {
  bearing.contact_angle = std::clamp(angle, 0.0, 0.499 * std::numbers::pi);
  return bearing;
}

}  // namespace

DefectOrders defect_orders(const BearingGeometry& bearing) {
  require_geometry(bearing);
  const double count = bearing.elements;
  const double share =
      bearing.element_diameter / bearing.pitch_diameter * std::cos(bearing.contact_angle);
  const double spin =
      bearing.pitch_diameter / (2.0 * bearing.element_diameter) * (1.0 - share * share);
  return {.cage = 0.5 * (1.0 - share),
          .outer_race = 0.5 * count * (1.0 - share),
          .inner_race = 0.5 * count * (1.0 + share),
          .element_spin = spin,
          .element_flaw = 2.0 * spin};
}

DefectIntervals defect_intervals(const BearingGeometry& bearing, const DefectTolerance& tolerance) {
  require_geometry(bearing);
  const DefectOrders a =
      defect_orders(with_angle(bearing, bearing.contact_angle - tolerance.contact_angle));
  const DefectOrders b =
      defect_orders(with_angle(bearing, bearing.contact_angle + tolerance.contact_angle));
  const double slip = tolerance.slip;
  return {.cage = spread(a.cage, b.cage, slip),
          .outer_race = spread(a.outer_race, b.outer_race, slip),
          .inner_race = spread(a.inner_race, b.inner_race, slip),
          .element_spin = spread(a.element_spin, b.element_spin, slip),
          .element_flaw = spread(a.element_flaw, b.element_flaw, slip)};
}

double pulley_ratio(double driving_diameter, double driven_diameter, double line_differential) {
  if (!(driving_diameter > 0.0) || !(driven_diameter > 0.0) || !(line_differential >= 0.0))
    throw std::invalid_argument("pulleys: diameters must be above 0");
  return (driving_diameter + 2.0 * line_differential) / (driven_diameter + 2.0 * line_differential);
}

}  // namespace howl
