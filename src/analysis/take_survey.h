#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "src/analysis/sighting.h"

namespace howl {

struct TakeSurvey {
  std::vector<Sighting> sightings;  ///< strongest (tone-to-noise over limit) first
  std::vector<std::string> warnings;
};

/// Finds the tones of one take, hold or sweep.
TakeSurvey survey_take(const TakeAudio& take, std::size_t index);

}  // namespace howl
