#pragma once

#include <optional>
#include <string>
#include <vector>

#include "dsp/line_relations.h"
#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// A tone as a line to be compared with others of its behaviour over all takes: by order
/// (speed-locked), cycles per metre (road-locked) or Hz. Its sights are half-second pieces of the
/// takes. None where nothing tells its position.
std::optional<FamilyLine> line_of(const ToneResult& tone, const std::vector<TakeAudio>& takes);

/// A tone as one hold shows it, in Hz; none if it is not heard there.
std::optional<FamilyLine> line_in(const ToneResult& tone, const std::string& take);

}  // namespace howl
