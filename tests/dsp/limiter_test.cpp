#include "dsp/limiter.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <random>
#include <vector>

using namespace howl;

TEST_CASE("limiter: no sample passes the ceiling, whatever comes") {
  std::mt19937 random(1);
  std::normal_distribution<float> noise(0.0F, 3.0F);
  std::vector<float> sound(48'000);
  for (float& sample : sound) sample = noise(random);
  sound[100] = std::numeric_limits<float>::infinity();
  sound[200] = std::numeric_limits<float>::quiet_NaN();
  sound[300] = std::numeric_limits<float>::max();
  Limiter limiter(48'000.0, 0.25F);
  limiter.process(sound);
  for (const float sample : sound) REQUIRE(std::abs(sample) <= 0.25F);
}

TEST_CASE("limiter: sound below the ceiling is not touched") {
  std::vector<float> sound{0.1F, -0.2F, 0.25F, 0.0F};
  const std::vector<float> before = sound;
  Limiter limiter(48'000.0, 0.25F);
  limiter.process(sound);
  CHECK(sound == before);
}

TEST_CASE("limiter: gain recovers with a time constant of 0.2 s") {
  Limiter limiter(48'000.0, 0.25F);
  std::vector<float> knock{1.0F};
  limiter.process(knock);
  CHECK(limiter.gain() == doctest::Approx(0.25));
  std::vector<float> quiet(9600);  // 0.2 s: 1 - 0.75/e
  limiter.process(quiet);
  CHECK(limiter.gain() == doctest::Approx(1.0 - 0.75 / std::exp(1.0)).epsilon(1e-3));
}
