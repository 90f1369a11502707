#include "dsp/weighting.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

#include "tests/dsp/line_spectrum.h"

using namespace howl;

namespace {

/// Exact base-10 frequency of the third-octave `index`, 0 at 10 Hz.
Hertz exact(std::size_t index) {
  return Hertz(std::pow(10.0, 1.0 + 0.1 * static_cast<double>(index)));
}

bool near(Decibel actual, double expected, double tolerance) {
  return std::abs(actual.value - expected) <= tolerance;
}

}  // namespace

TEST_CASE("A and C weighting are those of IEC 61672-1:2013 Table 3") {
  struct Row {
    double nominal, a, c;
  };
  constexpr std::array<Row, 34> rows{
      {{10, -70.4, -14.3},  {12.5, -63.4, -11.2}, {16, -56.7, -8.5},   {20, -50.5, -6.2},
       {25, -44.7, -4.4},   {31.5, -39.4, -3.0},  {40, -34.6, -2.0},   {50, -30.2, -1.3},
       {63, -26.2, -0.8},   {80, -22.5, -0.5},    {100, -19.1, -0.3},  {125, -16.1, -0.2},
       {160, -13.4, -0.1},  {200, -10.9, 0.0},    {250, -8.6, 0.0},    {315, -6.6, 0.0},
       {400, -4.8, 0.0},    {500, -3.2, 0.0},     {630, -1.9, 0.0},    {800, -0.8, 0.0},
       {1000, 0.0, 0.0},    {1250, 0.6, 0.0},     {1600, 1.0, -0.1},   {2000, 1.2, -0.2},
       {2500, 1.3, -0.3},   {3150, 1.2, -0.5},    {4000, 1.0, -0.8},   {5000, 0.5, -1.3},
       {6300, -0.1, -2.0},  {8000, -1.1, -3.0},   {10000, -2.5, -4.4}, {12500, -4.3, -6.2},
       {16000, -6.6, -8.5}, {20000, -9.3, -11.2}}};
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CAPTURE(rows[i].nominal);
    // The table is rounded to 0.1 dB: half of that, and the 0.0003 dB by which the standard rounds
    // its normalisation constants.
    CHECK(near(weighting_level(Weighting::a, exact(i)), rows[i].a, 0.0505));
    CHECK(near(weighting_level(Weighting::c, exact(i)), rows[i].c, 0.0505));
    CHECK(weighting_level(Weighting::z, exact(i)) == 0.0_db);
  }
}

TEST_CASE("the analytic form has the poles of IEC 61672-1 Annex E") {
  // Written out with f1 … f4 = 20.598997, 107.65265, 737.86223, 12194.217 Hz, and normalised with
  // A_1000 = −1.9997 dB, C_1000 = −0.0619 dB.
  const auto sq = [](double x) { return x * x; };
  constexpr double f1 = 20.598997, f2 = 107.65265, f3 = 737.86223, f4 = 12194.217;
  for (const double f : {5.0, 31.0, 440.0, 3000.0, 18000.0}) {
    CAPTURE(f);
    const double rc = sq(f4) * sq(f) / ((sq(f) + sq(f1)) * (sq(f) + sq(f4)));
    const double ra = rc * sq(f) / std::sqrt((sq(f) + sq(f2)) * (sq(f) + sq(f3)));
    CHECK(near(weighting_level(Weighting::a, Hertz(f)), 20.0 * std::log10(ra) + 1.9997, 1e-4));
    CHECK(near(weighting_level(Weighting::c, Hertz(f)), 20.0 * std::log10(rc) + 0.0619, 1e-4));
  }
}

TEST_CASE("a spectrum is weighted line by line") {
  const PowerSpectrum flat = test::flat_spectrum(201, 10.0, 2.0, 4.0);
  const PowerSpectrum a = weighted(flat, Weighting::a);
  CHECK(a.power[0] == 0.0);
  CHECK(a.power[100] == doctest::Approx(2.0));  // 1 kHz
  CHECK(10.0 * std::log10(a.power[10] / 2.0) == doctest::Approx(-19.1).epsilon(0.005));
  CHECK(weighted(flat, Weighting::z).power == flat.power);
  CHECK(weighting_factor(Weighting::c, 0.0_hz) == 0.0);
}

TEST_CASE("tone bursts read as IEC 61672-1:2013 Table 4 says") {
  struct Row {
    double milliseconds, reading;
  };
  constexpr std::array<Row, 10> fast{{{1000, 0.0},
                                      {500, -0.1},
                                      {200, -1.0},
                                      {100, -2.6},
                                      {50, -4.8},
                                      {20, -8.3},
                                      {10, -11.1},
                                      {5, -14.1},
                                      {2, -18.0},
                                      {1, -21.0}}};
  constexpr std::array<Row, 9> slow{{{1000, -2.0},
                                     {500, -4.1},
                                     {200, -7.4},
                                     {100, -10.2},
                                     {50, -13.1},
                                     {20, -17.0},
                                     {10, -20.0},
                                     {5, -23.0},
                                     {2, -27.0}}};
  const auto reading = [](TimeWeighting weighting, const Row& row) {
    return tone_burst_response(weighting, Seconds(row.milliseconds / 1000.0));
  };
  for (const Row& row : fast) {
    CHECK(near(reading(TimeWeighting::fast, row), row.reading, 0.051));
  }
  for (const Row& row : slow) {
    CHECK(near(reading(TimeWeighting::slow, row), row.reading, 0.051));
  }
}
