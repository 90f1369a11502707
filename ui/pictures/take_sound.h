#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/spectrum.h"
#include "dsp/speed_curve.h"
#include "dsp/time_spans.h"
#include "src/analysis/analyse.h"
#include "src/case/case.h"
#include "ui/pictures/level_pyramid.h"
#include "ui/pictures/waveform.h"

namespace howl::desk {

/// All that the window shows of one take's sound.
struct TakeSound {
  std::string id;
  std::string point;
  double seconds{};
  double sample_rate{};
  bool engine_off{};
  SpeedCurve speed = SpeedCurve::constant(Rpm(1000.0), 0.01);  ///< means nothing with engine off
  TimeSpans without_speed{};                                   ///< where it is not known
  std::size_t block{};                                         ///< samples of a spectrogram's block
  std::size_t hop{};
  Waveform wave;
  LevelPyramid spectrogram;
  std::optional<LevelPyramid> orders;  ///< none yet, with the engine off, or where it is too short
  PowerSpectrum spectrum;
  std::filesystem::path recording;
  int channel{1};
};

/// Reads a take once, all but its orders. Memory is bounded, whatever its length. Throws Error
/// where it cannot be read.
TakeSound read_take_sound(const std::filesystem::path& folder, const Take& take,
                          std::optional<int> cylinders, const Progress& progress);

/// The speed of a take that has but one; none where it changes.
std::optional<double> steady_rpm(const SpeedCurve& speed, double seconds);

/// A take's averaged spectrum alone.
struct TakeSpectrum {
  std::string id;
  std::string point;
  std::optional<double> rpm;  ///< none: it changes, or the engine is off
  PowerSpectrum spectrum;
};
/// Throws Error where the take cannot be read.
TakeSpectrum read_take_spectrum(const std::filesystem::path& folder, const Take& take,
                                std::optional<int> cylinders, const Progress& progress);

/// A take with its order map, which takes a pass of its own and several times as long. Where the
/// speed is not known, nothing is in it.
TakeSound with_orders(TakeSound sound, const Progress& progress);

/// Columns `first` … `first + count − 1` of a level of the spectrogram that is finer than those
/// held, computed from the recording. Columns beyond the end are left out.
LevelGrid fine_columns(const TakeSound& sound, std::size_t level, std::size_t first,
                       std::size_t count, const Progress& progress);

}  // namespace howl::desk
