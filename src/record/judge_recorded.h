#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "src/analysis/quality.h"
#include "src/case/case.h"

namespace howl {

/// How well a take was recorded, said at once, while it can be repeated: as `add` and the analysis
/// will judge it later.
struct TakeVerdict {
  Severity worst{Severity::note};   ///< spoilt: to be recorded again
  std::vector<std::string> faults;  ///< what to read, worst first; empty for a good take
  std::optional<double> heard_rpm;  ///< engine speed by the sound, where it settles it
};

/// Judges a take whose recording lies in the case folder, a take of the case or not yet: level,
/// clipping, contact, lost sound, and the engine's speed against what was entered. Throws Error
/// where its recording cannot be read.
TakeVerdict judge_recorded(const std::filesystem::path& folder, const Take& take,
                           std::optional<int> cylinders);

}  // namespace howl
