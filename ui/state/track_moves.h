#pragma once

#include <cstddef>
#include <optional>

#include "src/analysis/analysis.h"

namespace howl::desk {

struct DeskState;

/// The tone whose pitch is shown: the picked one, else the strongest; null where there is none.
const ToneResult* shown_tone(const DeskState& state);

/// Which point of its track lies nearest in time to the cursor in the picked take; none where there
/// is no cursor, or the tone was not heard in that take.
std::optional<std::size_t> track_point_at_cursor(const DeskState& state, const ToneResult& tone);

}  // namespace howl::desk
