#pragma once

#include <optional>

#include "ui/look/plot.h"
#include "ui/pictures/take_sound.h"

namespace howl::desk {

/// Notes pinned to places in a take: numbered, with their text beside them. They are pressed before
/// what lies below, and drawn after it. Returns the one that is being dragged, which is drawn at
/// the mouse.
std::optional<std::size_t> act_on_pins(Frame& frame, const Plot& plot, const TakeSound& sound,
                                       bool as_order);
void put_pins(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order,
              std::optional<std::size_t> dragged);

/// Where the text of the picked note is written. It has a place of its own at the side.
void put_pin_editor(Frame& frame, const Area& area);
float pin_editor_height(const Frame& frame);

}  // namespace howl::desk
