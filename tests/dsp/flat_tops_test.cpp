#include "dsp/flat_tops.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 48000.0;

std::vector<float> sine(double hertz, double amplitude, double seconds = 1.0) {
  std::vector<float> x(static_cast<std::size_t>(seconds * kRate));
  for (std::size_t i = 0; i < x.size(); ++i)
    x[i] = static_cast<float>(
        amplitude * std::sin(2.0 * std::numbers::pi * hertz * static_cast<double>(i) / kRate));
  return x;
}

FlatTops find(const std::vector<float>& x, double rate = kRate) {
  FlatTopFinder finder(rate);
  finder.push(x);
  return finder.finish();
}

}  // namespace

TEST_CASE("flat tops: a sine overdriven twice is at its ceiling for two thirds of the time") {
  // 2 sin x reaches 1 between 30 and 150 degrees: 120 of every 180, 2/3 of the samples.
  for (const double ceiling : {1.0, 0.25, 0.01}) {
    CAPTURE(ceiling);
    std::vector<float> x = sine(331.7, 2.0 * ceiling);
    synth_clip(x, static_cast<float>(ceiling));
    const FlatTops flat = find(x);
    CHECK(flat.share_within == doctest::Approx(2.0 / 3.0).epsilon(0.02));
    CHECK(flat.ceiling == doctest::Approx(ceiling));
    CHECK(flat.runs == doctest::Approx(2 * 331.7).epsilon(0.02));
    CHECK_FALSE(flat.one_sided);
    CHECK(covered(flat.spans) == doctest::Approx(1.0));
  }
}

TEST_CASE("flat tops: sines of any pitch and level have none, whole or rounded to 16 bits") {
  for (const double hertz : {5.0, 20.0, 97.3, 1000.0, 3999.7, 11000.0, 23456.0})
    for (const double amplitude : {0.003, 0.3, 1.0}) {
      CAPTURE(hertz);
      CAPTURE(amplitude);
      std::vector<float> x = sine(hertz, amplitude);
      CHECK(find(x).spans.empty());
      for (float& v : x) v = std::round(v * 32767.0F) / 32768.0F;
      CHECK(find(x).spans.empty());
    }
}

TEST_CASE("flat tops: seen from 6 % of overdrive on, from 15 % for a tone of 40 samples a period") {
  for (const auto& [hertz, overdrive] : {std::pair{40.0, 1.06}, {300.0, 1.06}, {1200.3, 1.15}}) {
    CAPTURE(hertz);
    std::vector<float> x = sine(hertz, 0.5 * overdrive);
    synth_clip(x, 0.5F);
    CHECK_FALSE(find(x).spans.empty());
  }
}

TEST_CASE("flat tops: only where they are, and on one side only") {
  std::vector<float> x = sine(200.0, 0.4, 2.0);
  for (std::size_t i = 48000; i < 72000; ++i) x[i] = std::min(2.0F * x[i], 0.5F);
  const FlatTops flat = find(x);
  CHECK(flat.one_sided);
  REQUIRE(flat.spans.size() == 1);
  CHECK(flat.spans.front().low == doctest::Approx(1.0));
  CHECK(flat.spans.front().high == doctest::Approx(1.5));
}

TEST_CASE("flat tops: three equal samples at full scale are proof, two are none") {
  Random random(1);
  std::vector<float> x = synth_noise(48000, 0.05, random);
  for (std::size_t i = 24000; i < 24003; ++i) x[i] = 1.0F;
  CHECK(find(x).runs == 1);
  x[24000] = 0.1F;
  CHECK(find(x).runs == 0);
}

TEST_CASE("flat tops: any chunks, the same answer; nothing, nothing") {
  std::vector<float> x = sine(331.7, 2.0);
  synth_clip(x, 1.0F);
  FlatTopFinder finder(kRate);
  for (std::size_t i = 0; i < x.size(); i += 997)
    finder.push(std::span(x).subspan(i, std::min<std::size_t>(997, x.size() - i)));
  const FlatTops chunked = finder.finish();
  CHECK(chunked.samples == find(x).samples);
  CHECK(chunked.runs == find(x).runs);
  CHECK(find({}).spans.empty());
  CHECK(find({1.0F}).spans.empty());
}
