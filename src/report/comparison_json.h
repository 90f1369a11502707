#pragma once

#include <string>

#include "src/analysis/comparison.h"

namespace howl {

/// Schema "howlpoint.comparison/1". Lists are sorted, most important first; unknown is null. Fields
/// may be added, never renamed.
///
/// "verdict": one text; "howl": what became of the complaint's tone; "tones": one entry each, with
/// "change" (gone, weaker, unchanged, louder, new, undetermined), "measured" over the places that
/// are trusted, and "at", the same place by place ("place" counts from 0 in "places"). A level that
/// was not heard is null, and below its "…_below_db" with 95 %; so is an end of an interval that
/// would need it. "relative": to the rest of the spectrum. "places": takes that were compared, with
/// what the rest of the spectrum and the engine's firing did meanwhile; "steady": the probe kept
/// contact, without which none shows that a tone is gone or new; "record_again": how. "found_…": as
/// more than a line of the engine's firing, the order of which is "firing_order_before" where there
/// was no more before. "unsettled_at": the place for which alone a tone is not called gone or new.
std::string comparison_json(const Case& before, const Case& after, const Comparison& comparison);

}  // namespace howl
