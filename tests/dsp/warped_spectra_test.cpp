#include "dsp/warped_spectra.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>
#include <vector>

#include "dsp/statistics.h"

using namespace howl;

namespace {

constexpr double kRate = 4096.0;
constexpr std::size_t kLines = 750;
constexpr std::size_t kSteady = 6;
constexpr std::size_t kFastest = 12;

/// A tone that passes 600 Hz in the middle of the block, its pitch growing as exp(growth·t).
std::vector<float> gliding_tone(double growth) {
  constexpr double hertz = 600.0;
  const std::size_t count = WarpedSpectra::block + 2 * WarpedSpectra::margin;
  Random random(7);
  std::vector<float> sound;
  for (std::size_t i = 0; i < count; ++i) {
    const double t = (static_cast<double>(i) - 0.5 * static_cast<double>(count)) / kRate;
    const double turns = growth == 0.0 ? t : std::expm1(growth * t) / growth;
    const double tone = std::sin(2.0 * std::numbers::pi * hertz * turns);
    sound.push_back(static_cast<float>(tone + 0.01 * draw_normal(random)));
  }
  return sound;
}

std::size_t strongest(std::span<const double> q) {
  return static_cast<std::size_t>(std::max_element(q.begin(), q.end()) - q.begin());
}

}  // namespace

// Weruaga and Képesi 2007, Signal Processing 87, 1504–1522: under its own rate a chirp is a line,
// as narrow as that of a steady tone.
TEST_CASE("warped spectra: a tone that glides is one line under the rate at which it glides") {
  WarpedSpectra spectra(kRate, kLines);
  for (const std::size_t rate : {std::size_t{0}, kSteady, kFastest}) {
    spectra.look_at(gliding_tone(kWarpRates[rate]));
    const std::span<const double> q = spectra.over_noise(rate);
    CHECK(strongest(q) == 300);
    // A Hann window's line is four lines wide between its zeros.
    CHECK(q[303] < 1e-3 * q[300]);
    CHECK(q[297] < 1e-3 * q[300]);
    const std::span<const double> otherwise = spectra.over_noise(rate == kSteady ? 0 : kSteady);
    CHECK(otherwise[300] < 0.1 * q[300]);
  }
}

TEST_CASE("warped spectra: silence has no lines") {
  WarpedSpectra spectra(kRate, kLines);
  spectra.look_at(std::vector<float>(WarpedSpectra::block + 2 * WarpedSpectra::margin, 0.0F));
  for (std::size_t rate = 0; rate < kWarpRates.size(); ++rate)
    CHECK(std::ranges::all_of(spectra.over_noise(rate), [](double q) { return q == 0.0; }));
}
