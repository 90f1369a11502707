#pragma once

#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// For every load test of which both states were recorded at one point or more: what it did to the
/// howl in the band. Pairs differ in the load of that test only; a take that says nothing of the
/// test was recorded in its base state. All pairs of a test are taken together.
///
/// `tone`: the howl that the band holds, for the change of its order; none: no change of order.
std::vector<LoadChange> load_changes(const std::vector<TakeAudio>& takes,
                                     const AnalysisRequest::Band& band, const ToneResult* tone);

}  // namespace howl
