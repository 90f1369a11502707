#include "dsp/third_octave.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "tests/dsp/line_spectrum.h"

using namespace howl;
using namespace howl::test;

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

/// IEC 61260-1:2014 Table 1, class 1, at the third-octave breakpoints of Table F.1: least and
/// greatest relative attenuation in dB at `ratio` and at 1/ratio.
struct Breakpoint {
  double ratio, least, greatest;
};
constexpr std::array<Breakpoint, 10> class_1{{{1.0, -0.4, 0.4},
                                              {1.02667, -0.4, 0.5},
                                              {1.05575, -0.4, 0.7},
                                              {1.08746, -0.4, 1.4},
                                              {1.12202 - 1e-4, -0.4, 5.3},
                                              {1.12202 + 1e-4, 1.2, infinite},
                                              {1.29437, 16.6, infinite},
                                              {1.88173, 40.5, infinite},
                                              {3.05365, 60.0, infinite},
                                              {5.39195, 70.0, infinite}}};

double attenuation(double response) { return -10.0 * std::log10(response); }

}  // namespace

TEST_CASE("third-octave mid-bands are the exact ones of IEC 61260-1:2014 Formula 2") {
  constexpr std::array middles{
      10.000,   12.589,   15.849,   19.953,   25.119,    31.623,    39.811,   50.119,   63.096,
      79.433,   100.0,    125.893,  158.489,  199.526,   251.189,   316.228,  398.107,  501.187,
      630.957,  794.328,  1000.0,   1258.925, 1584.893,  1995.262,  2511.886, 3162.278, 3981.072,
      5011.872, 6309.573, 7943.282, 10000.0,  12589.254, 15848.932, 19952.623};
  for (std::size_t i = 0; i < middles.size(); ++i) {
    const int index = static_cast<int>(i) - 20;
    CAPTURE(index);
    CHECK(std::abs(third_octave_band(index).middle.value - middles[i]) <= 0.00051);
    CHECK(third_octave_index(Hertz(middles[i])) == index);
  }
}

TEST_CASE("band edges are those of IEC 61260-1:2014 Formulae 4 and 5") {
  const OctaveBand third = third_octave_band(0);
  CHECK(std::abs(third.edges.low.value - 891.251) <= 0.00051);
  CHECK(std::abs(third.edges.high.value - 1122.018) <= 0.00051);
  const OctaveBand octave = octave_band(0, 1);
  CHECK(std::abs(octave.edges.low.value - 707.946) <= 0.00051);
  CHECK(std::abs(octave.edges.high.value - 1412.538) <= 0.00051);
  // An even number of bands an octave has 1 kHz on an edge (Formula 3).
  CHECK(octave_band(0, 2).edges.low.value == doctest::Approx(1000.0));
  CHECK(third_octave_index(Hertz(1122.0)) == 0);
  CHECK(third_octave_index(Hertz(1122.1)) == 1);
}

TEST_CASE("the filter keeps to class 1 of IEC 61260-1:2014") {
  for (const Breakpoint& point : class_1) {
    for (const double ratio : {point.ratio, 1.0 / point.ratio}) {
      CAPTURE(ratio);
      CHECK(attenuation(third_octave_response(ratio)) >= point.least);
      CHECK(attenuation(third_octave_response(ratio)) <= point.greatest);
    }
  }
  CHECK(attenuation(third_octave_response(std::pow(10.0, 0.05))) == doctest::Approx(3.0103));
}

TEST_CASE("the filter keeps to class 1 between the breakpoints of IEC 61260-1:2014 too") {
  // Between them the limits are straight lines over lg Ω. Rows with an infinite limit have none.
  for (std::size_t i = 0; i + 1 < class_1.size(); ++i) {
    const Breakpoint& from = class_1[i];
    const Breakpoint& to = class_1[i + 1];
    if (std::isinf(from.greatest) != std::isinf(to.greatest)) continue;  // the edge itself
    for (int step = 0; step <= 50; ++step) {
      const double share = step / 50.0;
      const double ratio = from.ratio * std::pow(to.ratio / from.ratio, share);
      const double least = from.least + share * (to.least - from.least);
      const double greatest = std::isinf(from.greatest)
                                  ? infinite
                                  : from.greatest + share * (to.greatest - from.greatest);
      for (const double at : {ratio, 1.0 / ratio}) {
        CAPTURE(at);
        CHECK(attenuation(third_octave_response(at)) >= least);
        CHECK(attenuation(third_octave_response(at)) <= greatest);
      }
    }
  }
  for (double ratio = 5.39195; ratio < 100.0; ratio *= 1.1) {
    CHECK(attenuation(third_octave_response(ratio)) >= 70.0);
    CHECK(attenuation(third_octave_response(1.0 / ratio)) >= 70.0);
  }
}

TEST_CASE("tones through the coarsest spectrum that is resolved keep to class 1") {
  for (const WindowKind window : {WindowKind::hann, WindowKind::blackman_harris}) {
    const double noise_bandwidth_bins = noise_bandwidth_of(window);
    const OctaveBand band = third_octave_band(0);
    for (const double finer : {1.0, 1.013, 1.029, 1.041}) {  // moves the band against the lines
      const double spacing =
          band.edges.width().value / (8.0 * noise_bandwidth_bins) / (finer * (1.0 + 1e-9));
      for (const Breakpoint& point : class_1) {
        for (const double ratio : {point.ratio, 1.0 / point.ratio}) {
          CAPTURE(ratio);
          CAPTURE(finer);
          PowerSpectrum spectrum = flat_spectrum(600, spacing, 0.0, 1.0, window);
          add_tone(spectrum, 1000.0 * ratio, 1.0);
          const auto bands = third_octaves(spectrum, 0, 0);
          REQUIRE(bands.front().mean_square);
          CHECK(attenuation(*bands.front().mean_square) >= point.least);
          CHECK(attenuation(*bands.front().mean_square) <= point.greatest);
        }
      }
    }
  }
}

TEST_CASE("white noise reads π/3 of the nominal bandwidth") {
  const PowerSpectrum spectrum = flat_spectrum(20001, 1.0, 1.5, 50.0);  // density 1
  for (const ThirdOctave& level : third_octaves(spectrum, -10, 8)) {
    CAPTURE(level.index);
    REQUIRE(level.mean_square);
    const double nominal = level.band.edges.width().value;
    CHECK(*level.mean_square == doctest::Approx(nominal * std::numbers::pi / 3.0).epsilon(0.003));
  }
}

TEST_CASE("bands that the spectrum cannot tell are unknown") {
  const PowerSpectrum spectrum = flat_spectrum(1001, 10.0, 15.0, 50.0);  // to 10 kHz
  const auto bands = third_octaves(spectrum, -17, 13);
  REQUIRE(bands.size() == 31);
  for (const ThirdOctave& level : bands) {
    CAPTURE(level.band.middle.value);
    // Eight noise bandwidths are 120 Hz: from 518 Hz on. The band at 10 kHz ends at 11.2 kHz.
    const bool known = level.index >= -2 && level.index <= 9;
    CHECK(level.mean_square.has_value() == known);
  }
  CHECK_FALSE(third_octaves(PowerSpectrum{}, 0, 0).front().mean_square);
}
