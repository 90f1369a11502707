#pragma once

#include <imgui.h>

namespace howl::desk {

/// Sizes in layout units; a unit is a pixel at scale 1.
inline constexpr float kNoteSize = 13.5F;
inline constexpr float kBodySize = 16;
inline constexpr float kTitleSize = 21;
inline constexpr float kFigureSize = 30;
inline constexpr float kHugeSize = 64;

struct Fonts {
  ImFont* note{};
  ImFont* body{};
  ImFont* strong{};  ///< body in semibold
  ImFont* label{};   ///< note in semibold
  ImFont* title{};
  ImFont* figure{};
  ImFont* huge{};  ///< to be read from under a vehicle; letters and digits only
};

/// Fills the atlas anew for `unit` pixels a layout unit. The typeface is built into the program, so
/// that the window reads the same on every machine.
Fonts load_fonts(ImFontAtlas& atlas, float unit);

}  // namespace howl::desk
