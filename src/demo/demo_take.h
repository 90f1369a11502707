#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dsp/speed_curve.h"
#include "src/demo/recipe.h"

namespace howl {

/// One take of a recipe: an entry of `recipe.takes` at one of its points, one of its repeats.
struct PlannedTake {
  std::size_t entry{};
  std::string point;
  int repeat{};  ///< from 1
};
/// In the order somebody would record them: entry after entry, repeat after repeat, point by point.
std::vector<PlannedTake> planned_takes(const Recipe& recipe);

struct DemoTake {
  std::vector<float> samples;
  double sample_rate{};
  std::vector<float> tacho;         ///< second channel; empty unless the speed is a tacho's
  std::vector<float> reference;     ///< second channel; empty unless the recipe has the microphone
  SpeedCurve truth;                 ///< what the crankshaft did
  std::vector<SpeedPoint> written;  ///< what was written down or logged; empty for a tacho
  double hand_pressure_db{};        ///< gain of this take that is due to the hand
  std::optional<Interval> slip;     ///< of the belt that drives the culprit, over the take
};

/// Take `index` of planned_takes(recipe). The same seed gives the same samples on every machine.
DemoTake synthesise_take(const Recipe& recipe, std::size_t index, std::uint64_t seed);

}  // namespace howl
