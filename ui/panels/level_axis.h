#pragma once

#include "src/analysis/analysis.h"
#include "ui/look/frame.h"

namespace howl::desk {

/// The levels of the ranking along a bar, on one scale wherever they are shown.
struct LevelAxis {
  Area room;
  Interval range;
  float at(double level) const;
};

/// All levels with their intervals, of which 60 dB below the loudest at most are shown.
Interval level_range(const Analysis& analysis);
/// The bar of a point on its ground, with its 95 % interval as a line between two caps.
void put_level_bar(Frame& frame, const RankedPoint& point, Area bar, const LevelAxis& axis,
                   bool first);

}  // namespace howl::desk
