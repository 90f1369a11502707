#pragma once

#include <string>

#include "src/analysis/analysis.h"

namespace howl::desk {

/// "639 Hz · 1612 rpm · order 23.78"
std::string pitch_place_words(double hz, double rpm);
/// The same of a point that was measured, with its level and take: "… · −25.2 dB · t03"
std::string point_words(const TrackPoint& point);

}  // namespace howl::desk
