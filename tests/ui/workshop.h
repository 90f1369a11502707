#pragma once

#include <cmath>
#include <filesystem>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "dsp/statistics.h"
#include "src/case/case.h"
#include "src/keeping/add_take.h"
#include "src/profile/profile.h"
#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"
#include "ui/state/desk.h"

namespace howl::desk::bench {

inline constexpr int kRate = 16000;

/// A sine of `hz` whose peak is `peak`, in faint noise.
inline std::vector<double> tone_in_noise(double hz, double peak, double seconds,
                                         std::uint64_t seed) {
  Random random(seed);
  std::vector<double> samples(static_cast<std::size_t>(seconds * kRate));
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = peak * std::sin(2 * std::numbers::pi * hz * static_cast<double>(i) / kRate) +
                 0.002 * draw_normal(random);
  return samples;
}

/// Two short takes are soon analysed, where a test is about something else.
enum class Extent { three_speeds, two_short_takes, two_without_howl };

/// A case with a howl of order 10, 12 dB louder at one point than at another.
class Workshop {
 public:
  explicit Workshop(Extent extent = Extent::three_speeds)
      : seconds_(extent == Extent::three_speeds ? 3.5 : 1.0) {
    const Profile profile = load_profile("transverse-four-automatic");
    Case value;
    value.title = "Whine, made up";
    value.profile = profile.name;
    value.cylinders = profile.cylinders;
    value.points = profile.points;
    create_case(folder, value, profile.toml);
    const bool howls = extent != Extent::two_without_howl;
    record("transmission pan", 1500, howls ? 0.2 : 0);
    record("steering pump body", 1500, howls ? 0.05 : 0);
    if (extent != Extent::three_speeds) return;
    record("transmission pan", 1200, 0.2);
    record("transmission pan", 2000, 0.2);
  }

  void record(const std::string& point, double rpm, double peak) {
    record_sound(point, rpm, tone_in_noise(10.0 * rpm / 60.0, peak, seconds_, made_ + 1));
  }

  void record_sound(const std::string& point, double rpm, const std::vector<double>& sound) {
    ++made_;
    const auto file = howl::test::write_sound(scratch / ("made" + std::to_string(made_) + ".wav"),
                                              sound, {.rate = kRate});
    NewTake request{.recording = file, .log = std::nullopt, .take = {}};
    request.take.point = point;
    request.take.speed = EnteredSpeed{Rpm(rpm)};
    add_take(folder, request);
  }

  howl::test::ScratchFolder scratch;
  std::filesystem::path folder = scratch / "whine";

 private:
  double seconds_;
  std::uint64_t made_{};
};

/// One for all tests of a program that do not change it: its analysis takes a second.
inline const Workshop& shared_workshop() {
  static const Workshop made;
  return made;
}

/// The desk with that case on it, analysed.
inline void open_on(Desk& desk, const std::filesystem::path& folder) {
  desk.apply(OpenCase{folder});
  desk.finish_jobs();
}

}  // namespace howl::desk::bench
