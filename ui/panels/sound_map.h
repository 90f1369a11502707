#pragma once

#include "ui/look/plot.h"
#include "ui/pictures/tiles.h"

namespace howl::desk {

/// Draws what a plot shows of a take's spectrogram or order map, from tiles; those that are not
/// painted yet are asked for, and coarser ones shown meanwhile.
void put_map(Frame& frame, const Plot& plot, const TakeSound& sound, MapKind kind);

/// Level of the cell at a time and a frequency (order), dB re full-scale sine; none outside.
std::optional<double> level_at(const LevelPyramid& map, double seconds, double row_value);

}  // namespace howl::desk
