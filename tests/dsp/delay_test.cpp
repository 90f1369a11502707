#include "dsp/delay.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr double kRate = 16'000.0;
constexpr WelchParameters kBlocks{WindowKind::hann, 2048, 1024};

struct Pair {
  std::vector<float> x;
  std::vector<float> y;
};

/// y hears `source` later by `delay` samples; both have noise of their own.
Pair heard_later(const std::vector<float>& source, std::size_t delay, double noise_rms,
                 std::uint64_t seed) {
  Random random(seed);
  const std::size_t samples = source.size() - delay;
  Pair pair{synth_noise(samples, noise_rms, random), synth_noise(samples, noise_rms, random)};
  for (std::size_t i = 0; i < samples; ++i) {
    pair.x[i] += source[i + delay];
    pair.y[i] += source[i];
  }
  return pair;
}

std::vector<float> white(std::size_t samples, std::uint64_t seed) {
  Random random(seed);
  return synth_noise(samples, 1.0, random);
}

/// Noise that holds nothing outside its band: many sines of random phase.
std::vector<float> sharp_band(std::size_t samples, double low, double high, Random& random) {
  constexpr int lines = 150;
  std::vector<float> sum(samples, 0.0F);
  for (int i = 0; i < lines; ++i) {
    const double hertz = low + (high - low) * (i + draw_uniform(random)) / lines;
    synth_add(sum, synth_tone(std::vector<double>(samples, hertz), kRate, 0.12,
                              2.0 * std::numbers::pi * draw_uniform(random)));
  }
  return sum;
}

DelayOutcome delay_of(const Pair& pair, DelayWeighting weighting) {
  return estimate_delay(cross_spectrum(pair.x, pair.y, kRate, kBlocks), {weighting, Seconds(0.02)});
}

}  // namespace

TEST_CASE(
    "errors of a correlation and of its peak: Bendat & Piersol, Random Data 4e, Example 8.5") {
  // B = 100 Hz, T = 5 s, noise ten times the signal at both receivers: ρ = 1/11.
  const double error = correlation_error(1.0 / 11.0, 100.0, Seconds(5.0));
  CHECK(std::abs(error - 0.3493) <= 0.0001);
  CHECK(std::abs(delay_deviation(error, 100.0).value - 1.75e-3) <= 0.005e-3);  // Eq. 8.129
}

TEST_CASE("a delay of broad-band noise is found, with either weighting and either sign") {
  const auto source = white(80'000, 1);
  for (const auto weighting :
       {DelayWeighting::phase_transform, DelayWeighting::maximum_likelihood}) {
    const Pair pair = heard_later(source, 37, 1.0, 2);
    const auto outcome = delay_of(pair, weighting);
    REQUIRE(std::holds_alternative<FoundDelay>(outcome));
    const FoundDelay found = std::get<FoundDelay>(outcome);
    CHECK(std::abs(found.delay.value - 37.0 / kRate) <= 0.05 / kRate);
    CHECK(found.standard_deviation.value < 1.0 / kRate);
    const auto reversed = delay_of({pair.y, pair.x}, weighting);
    REQUIRE(std::holds_alternative<FoundDelay>(reversed));
    CHECK(std::abs(std::get<FoundDelay>(reversed).delay.value + 37.0 / kRate) <= 0.05 / kRate);
  }
}

TEST_CASE("the ideal phase transform of a pure delay is a pulse there (Knapp and Carter 1976)") {
  // Coloured alike in both channels: the colouring must not shift or widen the peak.
  auto source = white(80'000, 3);
  synth_resonance(source, kRate, Hertz(900.0), 0.05);
  const auto outcome = delay_of(heard_later(source, 64, 1e-4, 4), DelayWeighting::phase_transform);
  REQUIRE(std::holds_alternative<FoundDelay>(outcome));
  CHECK(std::abs(std::get<FoundDelay>(outcome).delay.value - 64.0 / kRate) <= 0.01 / kRate);
}

TEST_CASE("a single tone, a narrow band and a family of orders have no unique delay") {
  Random random(5);
  constexpr std::size_t samples = 80'000;
  const std::vector<double> steady(samples, 410.0);
  const auto tone = synth_tone(steady, kRate, 1.0);
  const auto narrow = sharp_band(samples, 950.0, 1050.0, random);
  std::vector<float> family(samples, 0.0F);
  const std::vector<double> turns = phase_turns(std::vector<double>(samples, 200.0), kRate);
  synth_family(family, turns, {1.0, {{1.0, 0.0}, {0.8, 1.0}, {0.6, 2.0}, {0.4, 0.5}}, {}});
  for (const auto& source : {tone, narrow, family})
    for (const auto weighting :
         {DelayWeighting::phase_transform, DelayWeighting::maximum_likelihood}) {
      const auto outcome = delay_of(heard_later(source, 29, 0.01, 6), weighting);
      REQUIRE(std::holds_alternative<NoDelay>(outcome));
      CHECK(std::get<NoDelay>(outcome) == NoDelay::not_unique);
    }
}

TEST_CASE("streams without relation have no delay, and none is found beyond the longest") {
  const auto outcome =
      delay_of({white(60'000, 7), white(60'000, 8)}, DelayWeighting::maximum_likelihood);
  REQUIRE(std::holds_alternative<NoDelay>(outcome));
  CHECK(std::get<NoDelay>(outcome) == NoDelay::not_coherent);
  const auto late = delay_of(heard_later(white(80'000, 9), 600, 0.1, 10),  // 37.5 ms
                             DelayWeighting::maximum_likelihood);
  CHECK(std::holds_alternative<NoDelay>(late));
}

TEST_CASE("no delay is confidently wrong: bands of all widths") {
  // Where one is reported it lies within a tenth of the mean period of the truth.
  int reported = 0;
  for (int width = 1; width <= 12; width += 2)
    for (std::uint64_t seed = 1; seed <= 2; ++seed) {
      Random random(100 * seed + static_cast<std::uint64_t>(width));
      const double half = 40.0 * width;
      const auto source = sharp_band(30'000, 800.0 - half, 800.0 + half, random);
      const auto outcome =
          delay_of(heard_later(source, 41, 0.5, seed), DelayWeighting::maximum_likelihood);
      const auto* found = std::get_if<FoundDelay>(&outcome);
      if (found == nullptr) continue;
      ++reported;
      CAPTURE(width);
      CHECK(std::abs(found->delay.value - 41.0 / kRate) <= 0.1 / 800.0);
    }
  CHECK(reported >= 4);
}
