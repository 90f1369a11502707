#pragma once

#include <string>
#include <vector>

#include "src/demo/demo_take.h"
#include "src/demo/recipe.h"

namespace howl {

/// What a take was really like, without its audio.
struct TakeTruth {
  std::string id;
  PlannedTake plan;
  double rpm_min{};
  double rpm_mean{};
  double rpm_max{};
  double hand_pressure_db{};
  std::optional<Interval> slip;
};
/// `id` stays empty.
TakeTruth truth_of(const DemoTake& take, const PlannedTake& plan);

/// truth.json of a demo case, as JSON text: what is at fault, how its pitch behaves, where it is
/// loudest and by how much, and what the speed really was in each take. Not for the analysis to
/// read.
std::string truth_json(const Recipe& recipe, const std::vector<TakeTruth>& takes);

}  // namespace howl
