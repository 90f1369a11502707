#pragma once

#include <span>

namespace howl {

/// Mean square between `low` and `high` (same unit as `spacing`) of one block's lines, edges in
/// part; `noise_bins` is the window's noise bandwidth in lines.
double power_between(std::span<const float> power, double spacing, double noise_bins, double low,
                     double high);

}  // namespace howl
