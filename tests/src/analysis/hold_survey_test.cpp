#include "src/analysis/hold_survey.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "tests/src/analysis/synth_takes.h"

using namespace howl;
using namespace howl::test;

namespace {

constexpr std::size_t kFiveSeconds = 40'000;

std::vector<float> in_noise(std::vector<float> sound) {
  Random random(7);
  for (float& x : sound) x += static_cast<float>(1e-3 * draw_normal(random));
  return sound;
}

/// The strongest line within 2 %.
const Sighting& line_near(const std::vector<Sighting>& lines, double hertz) {
  const auto near = [&](const Sighting& s) {
    return std::abs(std::log(s.points.front().frequency_hz / hertz)) < 0.02;
  };
  const auto found = std::ranges::find_if(lines, near);
  REQUIRE(found != lines.end());
  return *found;
}

}  // namespace

TEST_CASE("a line that stands through the hold does not pass, whatever its level sways by") {
  std::vector<float> sound = tone(kFiveSeconds, 640.0, -30.0);
  for (std::size_t i = 0; i < sound.size(); ++i)  // by 3 dB from end to end
    sound[i] *= static_cast<float>(std::pow(10.0, 0.15 * static_cast<double>(i) / kFiveSeconds));
  CHECK_FALSE(line_near(survey_hold(hold_of("t", "p", in_noise(sound)), 0), 640.0).passes);
}

TEST_CASE("a pitch that is here in one part of the hold and there in another passes") {
  std::vector<double> pitch(kFiveSeconds);
  for (std::size_t i = 0; i < pitch.size(); ++i) pitch[i] = i < kFiveSeconds / 2 ? 640.0 : 680.0;
  const std::vector<float> sound = synth_tone(pitch, kTakeRate, amplitude_of(-30.0), 0.0);
  const std::vector<Sighting> lines = survey_hold(hold_of("t", "p", in_noise(sound)), 0);
  CHECK(line_near(lines, 640.0).passes);
  CHECK(line_near(lines, 680.0).passes);
}
