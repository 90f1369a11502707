#pragma once

#include <optional>
#include <span>
#include <vector>

#include "src/report/geometry.h"

namespace howl::picture {

/// A label with a thin line to the point that it speaks of.
struct Callout {
  Point at;
  Size size;
};
struct PlacedCallout {
  Box box;
  Segment leader;
  bool on_curve{};  ///< covers a piece of a curve, for want of a better place
};
/// As many as can be: inside `area`, off `obstacles`, off each other and each other's points, no
/// leader through a label or another leader, near their points and on as few of the `curves` as can
/// be. Nothing for a callout that has no room; give the most important first.
std::vector<std::optional<PlacedCallout>> place_callouts(std::span<const Callout> callouts,
                                                         const Box& area,
                                                         std::span<const Box> obstacles,
                                                         std::span<const Segment> curves);

}  // namespace howl::picture
