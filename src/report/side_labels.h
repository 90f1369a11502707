#pragma once

#include <span>
#include <vector>

#include "src/report/geometry.h"

namespace howl::picture {

/// Labels in two columns beside a drawing, each with a line to its point.
enum class Side { left, right };
struct SideLabel {
  Side side{};
  double middle{};  ///< y of the label's middle, where its line ends
};
struct SideColumns {
  double left{};   ///< x at which lines of the left column end
  double right{};  ///< likewise of the right column
  double top{};
  double bottom{};
  double height{};  ///< of a label, with its gap
};
/// One label a point, in their order. Points left of the middle between the columns are named on
/// the left, unless a side has no room for all of its own. `height` > 0. Labels of a side stand
/// `height` apart or more, as near to their points as that allows, between top and bottom (below it
/// where they do not fit), and no two lines of a side cross.
std::vector<SideLabel> side_labels(std::span<const Point> points, const SideColumns& columns);

}  // namespace howl::picture
