#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace howl {

/// One sight of a spectral line: in a take, or in a window of one.
struct LineSight {
  std::size_t view{};     ///< sights of one view share errors of speed and gain
  double log_position{};  ///< ln of the order or frequency read there
  double sigma{};         ///< of that reading alone, what the view's lines share left out
  double level_db{};
};

/// A spectral line as all its sights together show it.
struct FamilyLine {
  double position{};  ///< order, Hz or cycles per metre; > 0
  double sigma{};     ///< of the position, shared errors left out; same unit, > 0
  double level_db{};
  double level_sigma_db{1.0};
  /// By rising view, one a view. May be empty: then lines are compared by their positions.
  std::vector<LineSight> sights;
};

/// Where line b lies as seen from line a.
struct LineRelation {
  double log_ratio{};  ///< ln of b's position over a's
  double sigma{};      ///< of that, one standard deviation
  double level_difference_db{};
  double level_sigma_db{};
};

/// Compares two lines by the views that show both, in which errors of speed, slip of a common belt
/// and gain cancel: weighted mean of the differences, its error widened by the ratio of Birge
/// (1932, Phys. Rev. 40, 207) where they scatter more than they should. Without a common view,
/// by positions and levels.
LineRelation relate(const FamilyLine& a, const FamilyLine& b);

}  // namespace howl
