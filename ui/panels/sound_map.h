#pragma once

#include <optional>
#include <string>

#include "ui/look/plot.h"
#include "ui/pictures/tiles.h"

namespace howl::desk {

/// Draws what a plot shows of a take's spectrogram or order map, from tiles; those that are not
/// painted yet are asked for, and coarser ones shown meanwhile.
void put_map(Frame& frame, const Plot& plot, const TakeSound& sound, MapKind kind);

/// Level of the cell at a time and a frequency (order), dB re full-scale sine; none outside.
std::optional<double> level_at(const LevelPyramid& map, double seconds, double row_value);

/// What a place of a map reads: "3.20 s · 480.0 Hz · order 16.00 · 1800 rpm · -43.0 dB". `row` is
/// in Hz or, in an order map, an order; there it is left out where the speed is not known, which is
/// said.
std::string cursor_words(const TakeSound& sound, double seconds, double row, bool as_order);

}  // namespace howl::desk
