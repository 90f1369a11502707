#include "src/analysis/tonal_beats.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "dsp/order_map.h"
#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kBlockTurns = 32.0;
constexpr double kSixtyRate = 8192.0;  // samples a second, at one turn a second

struct PlantedSine {
  double order{};
  double amplitude{};
};

/// One block's order spectrum of sines in white noise.
std::vector<float> block_of(const std::vector<PlantedSine>& sines, double noise_rms,
                            std::uint64_t seed) {
  Random random(seed);
  const auto count = static_cast<std::size_t>(34.0 * kSixtyRate);
  std::vector<float> samples = synth_noise(count, noise_rms, random);
  for (std::size_t i = 0; i < count; ++i)
    for (const auto& [order, amplitude] : sines)
      samples[i] += static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * order *
                                                            static_cast<double>(i) / kSixtyRate));
  std::vector<float> power;
  OrderMap map(SpeedCurve::constant(Rpm(60.0), 0.0), kSixtyRate,
               {.highest_order = 200.0, .revolutions = kBlockTurns, .hop_revolutions = kBlockTurns},
               [&](const OrderColumn& column) {
                 if (power.empty()) power.assign(column.power.begin(), column.power.end());
               });
  map.push(samples);
  map.finish();
  return power;
}

/// Mean over eight blocks.
std::vector<double> beats_of(const std::vector<PlantedSine>& sines, double noise_rms,
                             double highest_passed = 1e9) {
  constexpr std::uint64_t blocks = 8;
  std::vector<double> mean(1200);
  for (std::uint64_t seed = 0; seed < blocks; ++seed) {
    const BlockTones tones(block_of(sines, noise_rms, seed), 1.0 / kBlockTurns, 0.0);
    const auto beats = tones.beats(
        {0.0, highest_passed}, [=](double order) { return order < highest_passed ? 1.0 : 0.0; },
        mean.size());
    for (std::size_t k = 0; k < mean.size(); ++k) mean[k] += beats[k] / blocks;
  }
  return mean;
}

double beat_at(const std::vector<double>& beats, double order) {
  return beats[static_cast<std::size_t>(std::lround(order * kBlockTurns))];
}

}  // namespace

TEST_CASE("two tones swell at their distance by twice the product of their amplitudes") {
  // |a + b|² swings by 2ab about a² + b²; its mean square is (2ab)²/2.
  const auto beats = beats_of({{30.0, 1.0}, {40.25, 0.3}}, 0.001);
  CHECK(beat_at(beats, 10.25) == doctest::Approx(0.5 * 0.6 * 0.6).epsilon(0.05));
  CHECK(std::abs(beat_at(beats, 7.0)) < 1e-3);
  CHECK(std::abs(beat_at(beats, 30.0)) < 1e-3);
}

TEST_CASE("pairs at the same distance are taken to be in phase") {
  const auto beats = beats_of({{30.0, 1.0}, {40.25, 1.0}, {50.5, 1.0}}, 0.001);
  CHECK(beat_at(beats, 10.25) == doctest::Approx(0.5 * 4.0 * 4.0).epsilon(0.05));
  CHECK(beat_at(beats, 20.5) == doctest::Approx(0.5 * 2.0 * 2.0).epsilon(0.05));
}

TEST_CASE("what the band does not pass does not beat") {
  const auto beats = beats_of({{30.0, 1.0}, {40.25, 0.3}}, 0.001, 35.0);
  CHECK(std::abs(beat_at(beats, 10.25)) < 1e-3);
}

TEST_CASE("a tone beats with one that is too weak to be told from noise by itself") {
  // Noise of 0.1 rms has 0.01/4096 in a cycle a turn, times 1.5/32: 1.1e-7 a line. The weak line
  // has ten times that; noise has 14 times somewhere in the block.
  const auto beats = beats_of({{30.0, 1.0}, {40.25, 0.0015}}, 0.1);
  const double expected = 0.5 * 0.003 * 0.003;
  CHECK(beat_at(beats, 10.25) > 0.4 * expected);
  CHECK(beat_at(beats, 10.25) < 2.5 * expected);
}

TEST_CASE("noise alone has no tones and explains nothing") {
  const auto beats = beats_of({}, 0.1);
  CHECK(std::all_of(beats.begin(), beats.end(), [](double b) { return b == 0.0; }));
}
