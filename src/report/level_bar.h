#pragma once

#include <string>
#include <string_view>

#include "src/report/canvas.h"
#include "src/report/geometry.h"

namespace howl::picture {

struct LevelBar {
  Box box;  ///< of the colours; labels need 52 units to its right
  double low_db{};
  double high_db{};
  std::string unit;      ///< "dB re full-scale sine", named above, ending at the page's margin
  bool shows_unknown{};  ///< explains the hatching too
};
/// The colour scale with its ticks.
void draw_level_bar(Canvas& canvas, const LevelBar& bar);

}  // namespace howl::picture
