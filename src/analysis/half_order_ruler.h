#pragma once

#include <cstddef>
#include <map>
#include <vector>

#include "src/analysis/sighting.h"

namespace howl {

/// Where a line lies by the ruler of its take.
enum class RulerPlace {
  on_half_order,  ///< as the engine's own cycle makes them, give or take the line's own error
  between,        ///< at none
  unsure,         ///< no ruler, or an error as wide as the gap between two half orders
};

/// The half orders that a take's own lines lie on, as a ruler for the others: they share the error
/// of the take's speed, so that an order read by the ruler is free of it.
struct HalfOrderRuler {
  double log_scale{};  ///< ln of the order that is read over the true one; 0 for a right speed
  double sigma{};      ///< one standard deviation of `log_scale`

  /// `log_order`: as read, without the ruler; `sigma`: of the line itself, relative.
  RulerPlace place(double log_order, double sigma) const;
};

/// By take. A take has one if its speed is known to 3.5 %, its lag included, and at least six of
/// its lines up to order 10.5, and 60 % of the strongest of them, lie on half orders at one and the
/// same scale and at no other; the rest (engine off, too few lines, speed hardly known) have none.
using HalfOrderRulers = std::map<std::size_t, HalfOrderRuler>;
HalfOrderRulers half_order_rulers(const std::vector<Sighting>& sightings);

}  // namespace howl
