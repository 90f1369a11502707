#pragma once

#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/record/record_take.h"

namespace howl {

/// One hold to be recorded at one probe point.
struct SessionStep {
  std::string point;
  SpeedSource speed;
};

/// Point after point, and at each hold after hold, as they are given: the probe is carried less
/// often than the engine's speed is changed.
std::vector<SessionStep> session_steps(const std::vector<std::string>& points,
                                       const std::vector<Rpm>& holds);

/// Those for which the case has no take yet: at that point, with the same load and background, at
/// an entered speed within 3 %.
std::vector<SessionStep> steps_left(const std::vector<SessionStep>& steps, const Case& value,
                                    const Take& pattern);

}  // namespace howl
