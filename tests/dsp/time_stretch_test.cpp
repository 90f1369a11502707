#include "dsp/time_stretch.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "dsp/moving_band.h"
#include "dsp/resampler.h"

using namespace howl;

namespace {

std::vector<float> sine(double hz, double rate, double seconds, double peak = 0.5) {
  std::vector<float> samples(static_cast<std::size_t>(seconds * rate));
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = static_cast<float>(
        peak * std::sin(2 * std::numbers::pi * hz * static_cast<double>(i) / rate));
  return samples;
}

template <class Stage>
std::vector<float> through(Stage& stage, std::span<const float> samples, std::size_t chunk) {
  while (!samples.empty()) {
    const auto part = samples.first(std::min(chunk, samples.size()));
    stage.push(part);
    samples = samples.subspan(part.size());
  }
  stage.finish();
  return {};
}

std::vector<float> stretched(std::span<const float> samples, double rate, int slowness,
                             std::size_t chunk = 4096) {
  std::vector<float> made;
  TimeStretch stretch(rate, slowness, [&](std::span<const float> s) {
    made.insert(made.end(), s.begin(), s.end());
  });
  through(stretch, samples, chunk);
  return made;
}

/// Peak amplitude and phase of the part at `hz`, under a Hann window.
std::complex<double> part_at(std::span<const float> samples, double hz, double rate) {
  std::complex<double> sum;
  double weights = 0;
  const auto n = static_cast<double>(samples.size());
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const auto t = static_cast<double>(i);
    const double w = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * (t + 0.5) / n);
    sum += w * static_cast<double>(samples[i]) *
           std::polar(1.0, -2 * std::numbers::pi * hz * t / rate);
    weights += w;
  }
  return 2.0 * sum / weights;
}

/// Frequency from how far the phase at `hz` runs between two stretches of the middle.
double frequency_near(std::span<const float> samples, double hz, double rate) {
  const std::size_t piece = samples.size() / 4;
  const std::size_t apart = static_cast<std::size_t>(0.05 * rate);
  const std::size_t at = samples.size() / 4;
  const auto first = part_at(samples.subspan(at, piece), hz, rate);
  const auto second = part_at(samples.subspan(at + apart, piece), hz, rate);
  // What turned beyond hz · apart / rate.
  const double seconds = static_cast<double>(apart) / rate;
  double extra = std::arg(second / first) - 2 * std::numbers::pi * hz * seconds;
  extra -= 2 * std::numbers::pi * std::round(extra / (2 * std::numbers::pi));
  return hz + extra / (2 * std::numbers::pi * seconds);
}

double db(double ratio) { return 20 * std::log10(ratio); }

std::vector<float> band_passed(std::span<const float> samples, double rate, double narrowest,
                               MovingBand::Edges edges) {
  std::vector<float> made;
  MovingBand band(rate, narrowest, std::move(edges),
                  [&](std::span<const float> s) { made.insert(made.end(), s.begin(), s.end()); });
  through(band, samples, 1000);
  return made;
}

std::vector<float> resampled(std::span<const float> samples, double from, double to) {
  std::vector<float> made;
  Resampler resampler(
      from, to, [&](std::span<const float> s) { made.insert(made.end(), s.begin(), s.end()); });
  through(resampler, samples, 777);
  return made;
}

}  // namespace

TEST_CASE("time stretch: a steady tone keeps pitch and level, and lasts longer to the sample") {
  constexpr double rate = 48000;
  for (const int slowness : {2, 4})
    for (const double hz : {47.3, 250.0, 1234.5, 3010.7}) {
      CAPTURE(slowness);
      CAPTURE(hz);
      const auto made = stretched(sine(hz, rate, 2.0), rate, slowness);
      CHECK(made.size() == static_cast<std::size_t>(slowness) * 96000);
      const double found = frequency_near(made, hz, rate);
      CHECK(std::abs(found / hz - 1) < 1e-5);
      const auto middle = std::span<const float>(made).subspan(made.size() / 4, made.size() / 2);
      const double level = db(std::abs(part_at(middle, hz, rate)) / 0.5);
      CHECK(std::abs(level) < 0.01);
    }
}

TEST_CASE("time stretch: two tones a quint apart keep their levels") {
  constexpr double rate = 44100;
  std::vector<float> both = sine(400, rate, 2.0, 0.3);
  const std::vector<float> upper = sine(600, rate, 2.0, 0.1);
  for (std::size_t i = 0; i < both.size(); ++i) both[i] += upper[i];
  const auto made = stretched(both, rate, 2);
  const auto middle = std::span<const float>(made).subspan(made.size() / 4, made.size() / 2);
  CHECK(std::abs(db(std::abs(part_at(middle, 400, rate)) / 0.3)) < 0.1);
  CHECK(std::abs(db(std::abs(part_at(middle, 600, rate)) / 0.1)) < 0.2);
}

TEST_CASE("time stretch: a tone that rises keeps rising, half as fast") {
  constexpr double rate = 48000;
  std::vector<float> rising(4 * 48000);
  for (std::size_t i = 0; i < rising.size(); ++i) {  // 200 Hz + 50 Hz/s · t
    const double t = static_cast<double>(i) / rate;
    rising[i] = static_cast<float>(0.5 * std::sin(2 * std::numbers::pi * (200 * t + 25 * t * t)));
  }
  const auto made = stretched(rising, rate, 2);
  // After 4 s of what is made, 2 s of what came: 300 Hz.
  const auto piece = std::span<const float>(made).subspan(4 * 48000 - 2400, 4800);
  double best = 0;
  double best_hz = 0;
  for (double hz = 280; hz < 320; hz += 0.25)
    if (const double found = std::abs(part_at(piece, hz, rate)); found > best) {
      best = found;
      best_hz = hz;
    }
  CHECK(best_hz == doctest::Approx(300).epsilon(0.01));
  CHECK(std::abs(db(best / 0.5)) < 0.5);
}

TEST_CASE("time stretch: once is unchanged, and chunks do not matter") {
  constexpr double rate = 16000;
  const auto samples = sine(333, rate, 1.0);
  const auto same = stretched(samples, rate, 1);
  REQUIRE(same.size() == samples.size());
  float worst = 0;
  for (std::size_t i = 0; i < same.size(); ++i)
    worst = std::max(worst, std::abs(same[i] - samples[i]));
  CHECK(worst < 1e-4F);
  CHECK(stretched(samples, rate, 4, 17) == stretched(samples, rate, 4, 16000));
  CHECK(stretched({}, rate, 2).empty());
}

TEST_CASE("moving band: passes what is inside, keeps out what is not") {
  constexpr double rate = 48000;
  const auto fixed = [](Seconds) { return Interval{240, 260}; };
  const auto level = [&](double hz) {
    const auto made = band_passed(sine(hz, rate, 4.0), rate, 20, fixed);
    REQUIRE(made.size() == 4 * 48000);
    const auto middle = std::span<const float>(made).subspan(48000, 2 * 48000);
    double sum = 0;
    for (const float s : middle) sum += static_cast<double>(s * s);
    return 10 * std::log10(sum / static_cast<double>(middle.size()) / 0.125 + 1e-30);
  };
  for (const double hz : {240.0, 250.0, 260.0}) {
    CHECK(std::abs(level(hz)) < 0.3);
  }
  for (const double hz : {220.0, 280.0, 100.0, 1000.0}) {
    CHECK(level(hz) < -60);
  }
}

TEST_CASE("moving band: edges that follow the engine let its order through a sweep") {
  constexpr double rate = 16000;
  std::vector<float> rising(6 * 16000);
  for (std::size_t i = 0; i < rising.size(); ++i) {  // 150 Hz + 30 Hz/s · t
    const double t = static_cast<double>(i) / rate;
    rising[i] = static_cast<float>(0.5 * std::sin(2 * std::numbers::pi * (150 * t + 15 * t * t)));
  }
  const auto made = band_passed(rising, rate, 15, [](Seconds t) {
    const double hz = 150 + 30 * t.value;
    return Interval{0.95 * hz, 1.05 * hz};
  });
  double worst = 0;
  for (std::size_t i = 16000; i < 5 * 16000; ++i)
    worst = std::max(worst, static_cast<double>(std::abs(made[i] - rising[i])));
  CHECK(worst < 0.05);
}

TEST_CASE("resampler: tones keep pitch and level, and nothing is added") {
  for (const auto& [from, to] :
       {std::pair{16000.0, 48000.0}, {44100.0, 48000.0}, {48000.0, 44100.0}, {96000.0, 48000.0}}) {
    CAPTURE(from);
    CAPTURE(to);
    const double highest = 0.42 * std::min(from, to);
    for (const double hz : {100.0, 1000.0, highest}) {
      CAPTURE(hz);
      const auto made = resampled(sine(hz, from, 1.0), from, to);
      CHECK(made.size() == static_cast<std::size_t>(std::lround(to)));
      const auto part = part_at(made, hz, to);
      CHECK(std::abs(db(std::abs(part) / 0.5)) < 0.1);
      // What is left once the tone is taken out, in the middle.
      double left = 0;
      double all = 0;
      for (std::size_t i = made.size() / 4; i < 3 * made.size() / 4; ++i) {
        const double tone =
            (part * std::polar(1.0, 2 * std::numbers::pi * hz * static_cast<double>(i) / to))
                .real();
        left += std::pow(static_cast<double>(made[i]) - tone, 2);
        all += tone * tone;
      }
      CHECK(10 * std::log10(left / all) < -70);
    }
    // Too high for the lower rate: gone.
    if (to < from) {
      const auto made = resampled(sine(0.55 * to, from, 1.0), from, to);
      double most = 0;
      for (std::size_t i = made.size() / 4; i < 3 * made.size() / 4; ++i)
        most = std::max(most, static_cast<double>(std::abs(made[i])));
      CHECK(db(most / 0.5) < -70);
    }
  }
}
