#pragma once

#include "ui/look/frame.h"
#include "ui/state/settings.h"

namespace howl::desk {

class Desk;

/// Pixels a layout unit for these settings: class mode is larger.
float unit_of(const Settings& settings);

/// Between NewFrame() and Render(): draws the whole window and returns what was wished meanwhile.
/// `targets` then says where everything stands. A press of the mouse ends the walk by keys.
Intentions draw_window(const Desk& desk, const Look& look, Targets& targets, Walk& walk,
                       double seconds);

}  // namespace howl::desk
