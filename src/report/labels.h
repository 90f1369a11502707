#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "src/report/geometry.h"

namespace howl::picture {

/// Labels stacked along one line, each as near as may be to where it belongs.
struct SpreadParameters {
  double low{};  ///< labels stay within low … high
  double high{};
  double gap{};       ///< between neighbours
  double farthest{};  ///< a label that would stray farther is dropped
};
struct SpreadLabel {
  double wanted{};  ///< where its centre belongs
  double length{};  ///< along the line
};
/// Centres in the order of `labels`, the least sum of squared shifts that keeps them apart (pool
/// adjacent violators: Ayer et al. 1955); nothing for a label that was dropped, the last of a crowd
/// first, so give the most important first.
std::vector<std::optional<double>> spread(std::span<const SpreadLabel> labels,
                                          const SpreadParameters& parameters);

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
