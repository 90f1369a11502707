#pragma once

#include <string>

#include "src/analysis/analysis.h"
#include "ui/look/plot.h"
#include "ui/pictures/take_sound.h"
#include "ui/state/shown_sound.h"

namespace howl::desk {

/// Lines over a spectrogram, or over an order map (`as_order`), where orders lie level.

/// The tones of the take, the picked one strong, with their names at the right. Returns how much of
/// the right edge the names take.
float put_tone_lines(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order);
/// The edges of the suspect band.
void put_suspect_band(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order);
/// The line that is dragged to read an order.
void put_read_order(Frame& frame, const Plot& plot, const TakeSound& sound, bool as_order);

}  // namespace howl::desk
