#pragma once

#include <optional>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

/// Marks the tones that are the engine's own. Firing orders, multiples of cylinders/2, unless they
/// stand 8 dB out of their own fall with frequency (median line in dB against ln order; with fewer
/// than three, orders up to 1.5 times the number of cylinders). The other multiples of half an
/// order come from cylinders that differ and lie far below: they are marked where they run along
/// their own fall, or, with fewer than four of them, where they are 8 dB below
/// that of the firing orders. Without the number of cylinders: multiples of half an order up to
/// order 6.
void mark_combustion(std::vector<ToneResult>& tones, std::optional<int> cylinders);

/// Groups speed-locked tones whose orders are whole multiples (2 to 8) of a lower one. Sets
/// `family`: "A", "B", …; "firing" for combustion.
void name_families(std::vector<ToneResult>& tones);

}  // namespace howl
