#pragma once

#include "dsp/statistics.h"

namespace howl {

/// A rolling bearing whose inner race turns while its outer race stands still, as in nearly every
/// accessory. Lengths in any one unit.
struct BearingGeometry {
  int elements{};             ///< balls or rollers of one row; ≥ 1
  double element_diameter{};  ///< > 0, below the pitch diameter
  double pitch_diameter{};    ///< of the circle through the elements' centres
  double contact_angle{};     ///< radians, 0 … below π/2; 0 for deep-groove and cylindrical ones
};

/// How often each thing happens in one turn of the inner race, if the elements roll without slip
/// (Harris and Kotzalas, Rolling Bearing Analysis 5e, ch. 8; Randall and Antoni 2011, MSSP 25,
/// 485–520, eqs. 1–4: chapter and numbers from memory).
struct DefectOrders {
  double cage{};          ///< FTF: turns of the cage
  double outer_race{};    ///< BPFO: elements that pass a point of the outer race
  double inner_race{};    ///< BPFI: elements that pass a point of the inner race
  double element_spin{};  ///< BSF: turns of an element about itself
  double element_flaw{};  ///< 2·BSF: a flaw of an element strikes both races
};

/// Throws std::invalid_argument where the geometry is outside its ranges.
DefectOrders defect_orders(const BearingGeometry& bearing);

struct DefectTolerance {
  /// Share by which real bearings stray from rolling without slip, to either side: 1 to 2 % is
  /// usual (Randall and Antoni 2011, from memory).
  double slip{0.02};
  double contact_angle{0.0};  ///< radians, to either side of the given one; load changes it
};

struct DefectIntervals {
  Interval cage;
  Interval outer_race;
  Interval inner_race;
  Interval element_spin;
  Interval element_flaw;
};

/// Where the defect orders lie within the tolerance.
DefectIntervals defect_intervals(const BearingGeometry& bearing, const DefectTolerance& tolerance);

/// Turns of a driven pulley per turn of the driving one without slip, from their effective
/// diameters: the belt's pitch line runs `line_differential` outside the effective diameter
/// (ISO 9981:2020, 5.4: b_e = 2 mm for the PK profile; that it counts twice on a diameter is from
/// memory). All in one unit, diameters above 0.
double pulley_ratio(double driving_diameter, double driven_diameter, double line_differential);

}  // namespace howl
