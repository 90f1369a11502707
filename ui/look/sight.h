#pragma once

#include <string_view>

#include "ui/look/area.h"

namespace howl::desk {

/// Within what scrolled() draws: scrolls the picked row into sight, once for each that is picked,
/// so that a hand can scroll it out again. By whole steps of `step` pixels, where rows are alike.
void bring_to_sight(const Area& row, std::string_view id, float step = 0);
/// The same each time it is called.
void scroll_to(const Area& row, float step = 0);

}  // namespace howl::desk
