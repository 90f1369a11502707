#pragma once

#include "src/analysis/analysis.h"

namespace howl {

/// Whether a tone was followed at speeds so far apart that its pitch can show what it follows
/// (PitchLawParameters::least_speed_ratio).
bool speed_varied(const ToneResult& tone);

/// Whether the order that a tone has if it is locked to the crankshaft may be `order`: within its
/// 95 % uncertainty, where that is below 0.1.
bool order_may_be(const ToneResult& tone, double order);

}  // namespace howl
