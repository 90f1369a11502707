#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "dsp/speed_curve.h"
#include "src/case/case.h"

namespace howl {

/// The speed of a take, ready for use, with what had to be repaired or assumed on the way.
struct TakeSpeed {
  SpeedCurve curve;
  std::string source;  ///< "entered", "logged", "tacho"
  std::vector<std::string> warnings;
};

/// Resolves a take's speed source: reads its log, or its tacho channel. Throws Error.
TakeSpeed speed_of_take(const std::filesystem::path& folder, const Take& take);

}  // namespace howl
