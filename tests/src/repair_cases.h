#pragma once

#include <fmt/format.h>

#include <span>
#include <string>
#include <utility>

#include "src/analysis/analyse.h"
#include "src/analysis/comparison.h"
#include "src/demo/scene.h"

namespace howl::test {

inline void no_progress(double, std::string_view) {}

/// One visit of a repair scene, which must outlive the result.
inline AnalysedCase visit_of(const RepairScene& scene, bool after) {
  AnalysedCase opened;
  for (const RepairScene::Take& from : scene.takes) {
    if (from.after != after) continue;
    TakeAudio take;
    take.id = fmt::format("t{:02}", opened.takes.size() + 1);
    take.point = fmt::format("point {}", from.point + 1);
    take.sample_rate = scene.sample_rate;
    take.seconds = static_cast<double>(from.samples.size()) / scene.sample_rate;
    take.speed = from.written;
    take.speed_source = "entered";
    take.stream = [&from](const std::function<void(std::span<const float>)>& to) {
      to(from.samples);
    };
    opened.takes.push_back(std::move(take));
  }
  opened.analysis = analyse_takes(opened.takes, scene.cylinders, {}, no_progress);
  return opened;
}

inline Comparison compare(const RepairScene& scene) {
  return compare_analysed(visit_of(scene, false), visit_of(scene, true), {}, no_progress);
}

/// The tone whose pitch in the scene is `hz` at `rpm`; null if none of the comparison is near.
inline const ComparedTone* tone_near(const Comparison& comparison, double hz) {
  for (const ComparedTone& tone : comparison.tones)
    if (tone.frequency_hz.low < 1.01 * hz && tone.frequency_hz.high > 0.99 * hz) return &tone;
  return nullptr;
}

inline double howl_hz(const RepairScene& scene) {
  return scene.order * scene.takes.front().written.at(Seconds(0.0)).value / 60.0;
}

}  // namespace howl::test
