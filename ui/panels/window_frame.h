#pragma once

#include <string_view>

#include "ui/look/frame.h"
#include "ui/state/settings.h"

namespace howl::desk {

class Desk;

/// Pixels a layout unit for these settings: class mode is larger.
float unit_of(const Settings& settings);

/// The same for a window of `width` by `height` pixels, on a system that wishes for `system_scale`
/// pixels a unit. In a large window everything is larger too, if by less than the window: who has
/// one sits no nearer. It is smaller where it would not fit: all parts have their room from 960 ×
/// 540 units on.
float unit_in(const Settings& settings, double system_scale, int width, int height);

/// What a key does, by its name (ui/state/keys.h): in the plot that was reached, in the walk, or
/// everywhere. False where it has no meaning now.
bool press_key(Desk& desk, Walk& walk, std::string_view key);

/// Between NewFrame() and Render(): draws the whole window and returns what was wished meanwhile.
/// `targets` then says where everything stands. A press of the mouse ends the walk by keys.
Intentions draw_window(const Desk& desk, const Look& look, Targets& targets, Walk& walk,
                       double seconds);

}  // namespace howl::desk
