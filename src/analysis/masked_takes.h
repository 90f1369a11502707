#pragma once

#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// One a take: whether a line of the engine's own that lies in the band too covers the tone there.
/// That is so where the take shows such a line, and shows the tone not at all or weaker: then the
/// level in the band is that of the engine, and the tone's own is at most that.
std::vector<bool> masked_takes(const std::vector<TakeAudio>& takes, const ToneResult& tone,
                               const std::vector<ToneResult>& tones,
                               const AnalysisRequest::Band& band);

}  // namespace howl
