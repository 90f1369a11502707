#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "dsp/statistics.h"
#include "dsp/synth.h"
#include "src/analysis/take_audio.h"

namespace howl::test {

inline constexpr double kTakeRate = 8000.0;

inline double amplitude_of(double level_db) { return std::pow(10.0, level_db / 20.0); }

/// A hold at 1800 rpm of the samples given, with the reference channel where one is given.
inline TakeAudio hold_of(const std::string& id, const std::string& point,
                         std::vector<float> samples, std::vector<float> reference = {}) {
  TakeAudio take;
  take.id = id;
  take.point = point;
  take.sample_rate = kTakeRate;
  take.seconds = static_cast<double>(samples.size()) / kTakeRate;
  take.speed = SpeedCurve::constant(Rpm(1800.0), 0.005);
  take.speed_source = "entered";
  const auto probe = std::make_shared<std::vector<float>>(std::move(samples));
  take.stream = [probe](const std::function<void(std::span<const float>)>& to) { to(*probe); };
  if (reference.empty()) return take;
  const auto second = std::make_shared<std::vector<float>>(std::move(reference));
  take.stream_both = [probe, second](const TakeAudio::TakeBoth& to) { to(*probe, *second); };
  return take;
}

inline TakeAudio engine_off(TakeAudio take) {
  take.engine_off = true;
  take.speed = SpeedCurve::constant(Rpm(1.0), 1.0);
  take.speed_source = "engine off";
  return take;
}

inline TakeAudio background(TakeAudio take) {
  take.background = true;
  return take;
}

/// A tone of steady pitch whose level re full-scale sine is `level_db`.
inline std::vector<float> tone(std::size_t samples, double hertz, double level_db,
                               double phase = 0.0) {
  return synth_tone(std::vector<double>(samples, hertz), kTakeRate, amplitude_of(level_db), phase);
}

inline std::vector<float> with(std::vector<float> a, const std::vector<float>& b,
                               double gain_db = 0.0) {
  synth_add(a, b, amplitude_of(gain_db));
  return a;
}

inline std::vector<float> hiss(std::size_t samples, double level_db, std::uint64_t seed) {
  Random random(seed);
  return synth_noise(samples, amplitude_of(level_db), random);
}

inline bool warned(const std::vector<std::string>& warnings, const std::string& of) {
  return std::any_of(warnings.begin(), warnings.end(),
                     [&](const std::string& w) { return w.find(of) != std::string::npos; });
}

}  // namespace howl::test
