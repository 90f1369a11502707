#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "dsp/statistics.h"
#include "dsp/units.h"

namespace howl {

/// How a tone's pitch behaves when engine speed changes.
enum class Behaviour { speed_locked, road_locked, fixed_pitch, unlocked, undetermined };
/// For a speed-locked tone: constant order, order that drifts as a slipping belt's does, or
/// unsettled.
enum class Drive { direct, belt, unknown };

std::string_view behaviour_name(Behaviour behaviour);  ///< "speed-locked" …
std::string_view drive_name(Drive drive);              ///< "direct" …

}  // namespace howl
