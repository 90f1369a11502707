#pragma once

#include "ui/look/frame.h"

namespace howl::desk {

/// Drawn signs instead of letters of an icon font.
enum class Sign {
  tick,
  warning,
  circle,
  sun,
  moon,
  cross,
  next,
  back,
  folder,
  play,
  stop,
  loop,
  record,
  plus,
  minus,
  whole,
  undo,
  redo,
  copy,
  picture,
  screen  ///< of a class
};

void fill(const Area& area, ImU32 colour, float rounding = 0);
void outline(const Area& area, ImU32 colour, float rounding = 0, float thickness = 1);
void hairline(ImVec2 from, ImVec2 to, ImU32 colour, float thickness = 1);
/// In the middle of `area`, as large as its shorter side.
void put_sign(const Area& area, Sign sign, ImU32 colour);
/// A horizontal bar that is `share` full, 0 … 1.
void put_meter(const Area& area, float share, ImU32 full, ImU32 empty);

}  // namespace howl::desk
