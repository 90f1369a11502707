#include "dsp/level_meter.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <span>
#include <vector>

using namespace howl;

namespace {

std::vector<float> sine(double amplitude, double seconds, double hertz = 1000.0) {
  std::vector<float> samples;
  for (int n = 0; n < static_cast<int>(std::lround(seconds * 48'000.0)); ++n)
    samples.push_back(
        static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * hertz * n / 48'000.0)));
  return samples;
}

}  // namespace

TEST_CASE("level meter: a steady sine reads its amplitude and its root mean square") {
  LevelMeter meter(48'000.0);
  meter.push(sine(0.5, 2.0));
  CHECK(meter.reading().highest == doctest::Approx(0.5));
  CHECK(meter.reading().peak == doctest::Approx(0.5).epsilon(0.01));
  CHECK(meter.reading().rms == doctest::Approx(0.5 / std::sqrt(2.0)).epsilon(0.01));
  CHECK(meter.reading().clipped == 0);
}

TEST_CASE("level meter: after the sound the peak falls by 20 dB in 1.7 s, the level by F") {
  LevelMeter meter(48'000.0);
  meter.push(sine(0.5, 2.0));
  const double before = meter.reading().rms;
  meter.push(std::vector<float>(6000));  // 125 ms: the mean square falls to 1/e
  CHECK(meter.reading().rms == doctest::Approx(before / std::sqrt(std::exp(1.0))).epsilon(0.001));
  meter.push(std::vector<float>(75'600));  // 1.7 s in all
  CHECK(meter.reading().peak == doctest::Approx(0.05).epsilon(0.02));
  CHECK(meter.reading().highest == doctest::Approx(0.5));
}

TEST_CASE("level meter: bursts of 4 kHz read as IEC 61672-1:2013 Table 4 says for F") {
  struct Row {
    double milliseconds, reading;
  };
  for (const Row& row :
       {Row{1000, 0.0}, Row{500, -0.1}, Row{200, -1.0}, Row{100, -2.6}, Row{50, -4.8},
        Row{20, -8.3}, Row{10, -11.1}, Row{5, -14.1}, Row{2, -18.0}, Row{1, -21.0}}) {
    CAPTURE(row.milliseconds);
    LevelMeter meter(48'000.0);
    double highest = 0.0;
    const auto hear = [&](std::span<const float> samples) {
      for (const float sample : samples) {
        meter.push(std::span(&sample, 1));
        highest = std::max(highest, meter.reading().rms);
      }
    };
    hear(sine(0.5, row.milliseconds / 1000.0, 4000.0));
    hear(std::vector<float>(4800));
    // The table is rounded to 0.1 dB; the mean square of a sine ripples by 0.01 dB or so here.
    const double re_steady = 20.0 * std::log10(highest / (0.5 / std::sqrt(2.0)));
    CHECK(std::abs(re_steady - row.reading) <= 0.06);
  }
}

TEST_CASE("level meter: samples at the top of 16 bits or beyond are clipped") {
  LevelMeter meter(48'000.0);
  meter.push(std::vector<float>{1.0F, -1.0F, 32767.0F / 32768.0F, -32766.0F / 32768.0F, 1.5F,
                                std::numeric_limits<float>::quiet_NaN()});
  CHECK(meter.reading().clipped == 4);
  CHECK(meter.reading().highest == 1.5);
  meter.forget();
  CHECK(meter.reading().clipped == 0);
  CHECK(meter.reading().highest == 0.0);
}
