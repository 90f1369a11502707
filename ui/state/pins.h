#pragma once

#include <optional>
#include <vector>

#include "src/case/pinned_notes.h"

namespace howl::desk {

struct DeskState;

/// Places in opened->pins of the notes of the picked take; none while they are hidden.
std::vector<std::size_t> shown_pins(const DeskState& state);
/// Whether the picked note is one of the picked take's, so that its text can be written.
bool writes_pin(const DeskState& state);
/// The one after `pin` among those, round to the first.
std::optional<std::size_t> pin_after(const DeskState& state, std::optional<std::size_t> pin);

}  // namespace howl::desk
