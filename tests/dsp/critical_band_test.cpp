#include "dsp/critical_band.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

using namespace howl;

namespace {

struct Edges {
  double tone, low, high;
};

bool near(double actual, double expected, double tolerance) {
  return std::abs(actual - expected) <= tolerance;
}

}  // namespace

TEST_CASE("critical bands are those of the examples in ECMA-418-1:2024") {
  CHECK(near(critical_bandwidth(1000.0_hz).value, 162.2, 0.05));  // clause 10, example
  CHECK(near(critical_bandwidth(500.0_hz).value, 117.3, 0.05));   // clause 10, example
  const FrequencyBand band = critical_band(1000.0_hz);            // clause 12.2, example
  CHECK(near(band.low.value, 922.2, 0.05));
  CHECK(near(band.high.value, 1084.4, 0.05));
}

TEST_CASE("critical bands have the widths printed in DIN 45681:2005 Table A.1") {
  struct Row {
    double tone, width;
  };
  // 250 and 13500 Hz are left out: the prints (105, 3469) are not what the formula of the same
  // standard gives (104.47, 3467.88).
  constexpr std::array<Row, 22> rows{
      {{100, 101},   {150, 102},   {350, 109},   {450, 114},   {570, 122},  {700, 133},
       {840, 145},   {1000, 162},  {1170, 182},  {1370, 207},  {1600, 239}, {1850, 277},
       {2150, 325},  {2500, 386},  {2900, 460},  {3400, 559},  {4000, 685}, {4800, 867},
       {5800, 1111}, {7000, 1426}, {8500, 1851}, {10500, 2463}}};
  for (const Row& row : rows) {
    CAPTURE(row.tone);
    CHECK(near(critical_bandwidth(Hertz(row.tone)).value, row.width, 0.5));
  }
}

TEST_CASE("band edges follow ECMA-418-1:2024 Formulae 2, 4, 5 and 7, 8") {
  // Worked from the formulae; the step of 4.4 Hz at 500 Hz is the standard's own.
  constexpr std::array<Edges, 5> rows{{{200, 148.56, 251.44},
                                       {500, 441.37, 558.63},
                                       {501, 445.76, 563.08},
                                       {2000, 1855.26, 2156.03},
                                       {4000, 3671.94, 4357.36}}};
  for (const Edges& row : rows) {
    CAPTURE(row.tone);
    const FrequencyBand band = critical_band(Hertz(row.tone));
    CHECK(near(band.low.value, row.low, 0.005));
    CHECK(near(band.high.value, row.high, 0.005));
  }
}

TEST_CASE("geometric bands have the tone as geometric mean of their edges") {
  for (const double tone : {20.0, 137.3, 500.0, 8000.0}) {
    const FrequencyBand band = geometric_critical_band(Hertz(tone));
    CHECK(std::sqrt(band.low.value * band.high.value) == doctest::Approx(tone));
    CHECK(band.width().value == doctest::Approx(critical_bandwidth(Hertz(tone)).value));
  }
}

TEST_CASE("proximity spacing is that of the examples in ECMA-418-1:2024 clause 11.6") {
  CHECK(near(proximity_spacing(150.0_hz).value, 23.0, 0.05));
  CHECK(near(proximity_spacing(850.0_hz).value, 63.8, 0.05));
  CHECK(near(proximity_spacing(212.0_hz).value, 21.0, 1e-9));    // the least, Formula 14
  CHECK(near(proximity_spacing(137.3_hz).value, 24.09, 0.005));  // f_D, ISO/PAS 20065 Formula 19
}

TEST_CASE("two tones are one within the spacing of the louder, and always from 1 kHz") {
  CHECK(heard_as_one(212.0_hz, 232.9_hz));
  CHECK_FALSE(heard_as_one(212.0_hz, 233.1_hz));
  CHECK_FALSE(heard_as_one(212.0_hz, 190.9_hz));
  CHECK(heard_as_one(1000.0_hz, 1080.0_hz));
  CHECK_FALSE(heard_as_one(850.0_hz, 914.0_hz));
}
