#include "dsp/lost_samples.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 48000.0;

/// A 150 Hz tone in a little noise, rounded to 16 bits: two seconds.
std::vector<float> sound() {
  Random random(3);
  std::vector<float> x = synth_noise(96000, 0.002, random);
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double phase = 2.0 * std::numbers::pi * 150.0 * static_cast<double>(i) / kRate;
    x[i] = static_cast<float>(
        std::round(32768.0 * (static_cast<double>(x[i]) + 0.3 * std::sin(phase))) / 32768.0);
  }
  return x;
}

LostSamples find(const std::vector<float>& x) {
  LostSampleFinder finder(kRate);
  finder.push(x);
  return finder.finish();
}

}  // namespace

TEST_CASE("lost samples: none in whole sound") {
  const LostSamples lost = find(sound());
  CHECK(lost.stuck.empty());
  CHECK(lost.repeated.empty());
  CHECK(lost.jumps.empty());
}

TEST_CASE("lost samples: a buffer of zeros, and one held") {
  for (const float value : {0.0F, 0.11F}) {
    std::vector<float> x = sound();
    std::fill(x.begin() + 30000, x.begin() + 30480, value);
    const LostSamples lost = find(x);
    REQUIRE(lost.stuck.size() == 1);
    CHECK(lost.stuck.front().low == doctest::Approx(30000 / kRate).epsilon(1e-4));
    CHECK(lost.stuck.front().high == doctest::Approx(30480 / kRate).epsilon(1e-4));
  }
}

TEST_CASE("lost samples: silence before the first sound and after the last is none") {
  std::vector<float> x = sound();
  std::fill(x.begin(), x.begin() + 9600, 0.0F);
  std::fill(x.end() - 9600, x.end(), 0.0F);
  CHECK(find(x).stuck.empty());
}

TEST_CASE("lost samples: a slow swing that rests on one step is no loss") {
  std::vector<float> x(96000);
  for (std::size_t i = 0; i < x.size(); ++i)
    x[i] = static_cast<float>(
        std::round(40.0 * std::sin(2.0 * std::numbers::pi * 8.0 * static_cast<double>(i) / kRate)) /
        32768.0);
  CHECK(find(x).stuck.empty());
}

TEST_CASE("lost samples: a buffer that comes twice") {
  std::vector<float> x = sound();
  std::copy_n(x.begin() + 40000, 512, x.begin() + 40512);
  const LostSamples lost = find(x);
  REQUIRE(lost.repeated.size() == 1);
  CHECK(lost.repeated.front().low == doctest::Approx(40512 / kRate).epsilon(1e-3));
  CHECK(lost.repeated.front().high == doctest::Approx(41024 / kRate).epsilon(1e-3));
}

TEST_CASE("lost samples: a computed tone repeats all the time and is not reported") {
  std::vector<float> x(96000);
  for (std::size_t i = 0; i < x.size(); ++i)
    x[i] = static_cast<float>(std::round(9000.0 * std::sin(2.0 * std::numbers::pi *
                                                           static_cast<double>(i % 320) / 320.0)) /
                              32768.0);
  CHECK(find(x).repeated.empty());
}

TEST_CASE("lost samples: a cut is a jump, a knock is none") {
  // 150 Hz: 320 samples a period. From a crest on, half a period is cut out: 0.3 to -0.3.
  std::vector<float> x = sound();
  x.erase(x.begin() + 48080, x.begin() + 48240);
  const LostSamples cut = find(x);
  REQUIRE(cut.jumps.size() == 1);
  CHECK(cut.jumps.front().high == doctest::Approx(48080 / kRate).epsilon(1e-4));

  std::vector<float> knocked = sound();
  Random random(5);
  for (std::size_t i = 0; i < 2400; ++i)
    knocked[50000 + i] +=
        static_cast<float>(0.5 * std::exp(-static_cast<double>(i) / 200.0) * draw_normal(random));
  CHECK(find(knocked).jumps.empty());
}

TEST_CASE("lost samples: any chunks, the same answer") {
  std::vector<float> x = sound();
  std::fill(x.begin() + 30000, x.begin() + 30480, 0.0F);
  std::copy_n(x.begin() + 40000, 512, x.begin() + 40512);
  LostSampleFinder finder(kRate);
  for (std::size_t i = 0; i < x.size(); i += 331)
    finder.push(std::span(x).subspan(i, std::min<std::size_t>(331, x.size() - i)));
  const LostSamples chunked = finder.finish();
  const LostSamples whole = find(x);
  CHECK(chunked.stuck == whole.stuck);
  CHECK(chunked.repeated == whole.repeated);
  CHECK(chunked.jumps == whole.jumps);
}
