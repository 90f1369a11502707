#pragma once

#include <string>

#include "src/analysis/analysis.h"

namespace howl {

/// The analysis as JSON, schema "howlpoint.analysis/1": what `analyse --json` prints. Every field
/// is always there; what is not known is null, and no number is ever NaN or infinite. Lists keep
/// the order of the analysis. A probe point without a level has no call either; `drive` is null for
/// a tone that is not speed-locked. Fields may be added in later versions, never renamed.
std::string analysis_json(const Case& value, const Analysis& analysis);

}  // namespace howl
