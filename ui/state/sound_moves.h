#pragma once

#include <optional>

#include "ui/state/view_state.h"

namespace howl::desk {

struct DeskState;

/// Looking nearer and moving along, without ever leaving what there is.

inline constexpr double kShortestView = 0.02;  ///< seconds

double seconds_of_picked_take(const DeskState& state);  ///< 0 where none is picked

/// `range` within 0 … `whole`, as wide as it was where that fits.
Interval kept_inside(Interval range, double whole);
/// By `factor` (below 1: nearer) about `about`, or its middle.
Interval zoomed(Interval range, double factor, std::optional<double> about, double least,
                double whole);

SoundView zoomed_time(SoundView view, double seconds, double factor,
                      std::optional<double> about = std::nullopt);
/// By a share of what is shown.
SoundView moved_time(SoundView view, double seconds, double share);

}  // namespace howl::desk
