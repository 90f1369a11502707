#include "src/record/monitor.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

using namespace howl;

TEST_CASE("monitor: one channel goes to both ears, as loud as asked") {
  Monitor monitor(48'000.0, {.channel = 2, .gain = Decibel(20.0), .ceiling = Decibel(-12.0)});
  const std::vector<float> input{0.5F, 0.01F, 0.5F, -0.02F};
  std::vector<float> output(4);
  monitor.play(input, 2, output);
  // 20 dB are a factor of 10; both are below the ceiling of 10^(-12/20) = 0.2512.
  CHECK(output[0] == doctest::Approx(0.1));
  CHECK(output[1] == output[0]);
  CHECK(output[2] == doctest::Approx(-0.2));
  CHECK(output[3] == output[2]);
}

TEST_CASE("monitor: never louder than the ceiling, and silence where nothing comes in") {
  Monitor monitor(48'000.0, {.channel = 1, .gain = Decibel(40.0), .ceiling = Decibel(-12.0)});
  const std::vector<float> loud(480, 0.9F);
  std::vector<float> output(960);
  monitor.play(loud, 1, output);
  CHECK(*std::ranges::max_element(output) <= std::pow(10.0F, -0.6F) + 1e-6F);
  monitor.play({}, 1, output);
  CHECK(std::ranges::all_of(output, [](float sample) { return sample == 0.0F; }));
}
