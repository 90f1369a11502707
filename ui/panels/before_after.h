#pragma once

#include "ui/look/frame.h"

namespace howl::desk {

/// The comparison with the case before, or what there is instead of it; `head` is room beside the
/// choice of pages.
void draw_before_after(Frame& frame, const Area& area, const Area& head);

/// What became of each tone, and what could not be compared; with the places to pick from where
/// they have no room of their own.
void put_compared_tones(Frame& frame, const Area& area, bool with_places);

}  // namespace howl::desk
