#pragma once

#include <fmt/format.h>

#include <span>
#include <string>
#include <utility>
#include <vector>

#include "src/analysis/analyse.h"
#include "src/analysis/comparison.h"
#include "src/analysis/quality.h"
#include "src/analysis/speed_check.h"
#include "src/demo/scene.h"

namespace howl::test {

inline void no_progress(double, std::string_view) {}

inline double howl_hz(const RepairScene& scene) {
  return scene.order * scene.takes.front().written.at(Seconds(0.0)).value / 60.0;
}

/// What somebody asks who knows the pitch of the complaint to 3 %.
inline AnalysisRequest about_the_howl(const RepairScene& scene) {
  const double hz = howl_hz(scene);
  return {AnalysisRequest::Band{AnalysisRequest::Band::Unit::hertz, {0.97 * hz, 1.03 * hz}}};
}

/// One visit of a repair scene, which must outlive the result.
inline AnalysedCase visit_of(const RepairScene& scene, bool after) {
  AnalysedCase opened;
  std::vector<std::vector<QualityFinding>> quality;
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
    quality.push_back(heed_quality(opened.takes.back()));
  }
  opened.analysis =
      analyse_takes(opened.takes, scene.cylinders, about_the_howl(scene), no_progress);
  for (std::size_t i = 0; i < opened.takes.size(); ++i) {
    TakeResult& result = opened.analysis.takes[i];
    result.quality = quality[i];
    result.sound_speed = check_speed(opened.takes[i], scene.cylinders, result.warnings);
  }
  return opened;
}

inline Comparison compare(const RepairScene& scene) {
  return compare_analysed(visit_of(scene, false), visit_of(scene, true),
                          {about_the_howl(scene), {}}, no_progress);
}

/// The first tone of a comparison that is near `hz`; null if there is none.
inline const ComparedTone* tone_near(const Comparison& comparison, double hz) {
  for (const ComparedTone& tone : comparison.tones)
    if (tone.frequency_hz.low < 1.01 * hz && tone.frequency_hz.high > 0.99 * hz) return &tone;
  return nullptr;
}

}  // namespace howl::test
