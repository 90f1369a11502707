#pragma once

#include <filesystem>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/keeping/add_take.h"
#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"

namespace howl::test {

/// A tone in noise; the same at every call.
inline std::vector<double> tone_in_noise(double hertz, double amplitude, double seconds, int rate) {
  std::mt19937 source(1);
  std::normal_distribution<double> noise(0.0, 0.003);
  std::vector<double> samples;
  for (std::size_t i = 0; i < static_cast<std::size_t>(seconds * rate); ++i)
    samples.push_back(amplitude *
                          std::sin(2.0 * std::numbers::pi * hertz * static_cast<double>(i) / rate) +
                      noise(source));
  return samples;
}

/// A case of two points at 1800 rpm: a howl of 300 Hz, order 10, 12 dB weaker at the second.
inline std::filesystem::path small_case(const ScratchFolder& scratch, const std::string& name,
                                        const std::string& title = "Whine at idle") {
  constexpr int rate = 16000;
  const std::filesystem::path folder = scratch / name;
  Case value;
  value.title = title;
  value.profile = "blank-four-stroke";
  value.created = "2026-05-04T10:00:00Z";
  value.points = {{"pump", "cast housing", {}}, {"oil pan", "rim", {}}};
  value.about.vehicle = "saloon, 182 000 km";
  create_case(folder, value);
  double amplitude = 0.1;
  for (const std::string point : {"pump", "oil pan"}) {
    NewTake take;
    take.recording = write_sound(scratch / (name + ".wav"), tone_in_noise(300, amplitude, 4, rate),
                                 {.format = SF_FORMAT_WAV | SF_FORMAT_PCM_16, .rate = rate});
    take.take.point = point;
    take.take.channel = 1;
    take.take.speed = EnteredSpeed{Rpm(1800.0)};
    take.take.added = "2026-05-04T10:01:00Z";
    add_take(folder, take);
    amplitude *= 0.25;
  }
  return folder;
}

}  // namespace howl::test
