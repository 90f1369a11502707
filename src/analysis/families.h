#pragma once

#include <optional>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

/// Marks the tones that are the engine's own firing: lines at multiples of half an order that do
/// not stand out of the fall of the firing harmonics with frequency. The fall is fitted through
/// multiples of cylinders/2 (median line in dB against ln order); with fewer than three of those,
/// only lines up to 1.5 times the number of cylinders count. Without the number of cylinders, lines
/// at multiples of half an order up to order 6 count. A tone 8 dB or more above the fall is not
/// combustion alone.
void mark_combustion(std::vector<ToneResult>& tones, std::optional<int> cylinders);

/// Groups speed-locked tones whose orders are whole multiples of the lowest one, and fixed-pitch
/// tones alike by frequency; combustion is one family of its own. Sets `family` ("A", "B", …,
/// "firing").
void name_families(std::vector<ToneResult>& tones);

}  // namespace howl
