#include "src/report/colour.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "src/report/style.h"

using namespace howl::picture;

namespace {

using Matrix = std::array<std::array<double, 3>, 3>;

// Machado, Oliveira and Fernandes 2009, "A Physiologically-based Model for Simulation of Color
// Vision Deficiency", IEEE TVCG 15(6), table 1, severity 1.0; from memory, agreeing with public
// copies. For linear RGB.
constexpr Matrix kProtanopia{{{0.152286, 1.052583, -0.204868},
                              {0.114503, 0.786281, 0.099216},
                              {-0.003882, -0.048116, 1.051998}}};
constexpr Matrix kDeuteranopia{{{0.367322, 0.860646, -0.227968},
                                {0.280085, 0.672501, 0.047413},
                                {-0.011820, 0.042940, 0.968881}}};

double linear(double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); }
double encoded(double v) {
  v = std::clamp(v, 0.0, 1.0);
  return v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055;
}

Colour seen_with(const Matrix& m, Colour c) {
  const std::array rgb{linear(c.red), linear(c.green), linear(c.blue)};
  const auto row = [&](std::size_t i) {
    return encoded(m.at(i)[0] * rgb[0] + m.at(i)[1] * rgb[1] + m.at(i)[2] * rgb[2]);
  };
  return {row(0), row(1), row(2)};
}

/// CIE 1976 colour difference.
double difference(Colour a, Colour b) {
  const Lab p = to_lab(a);
  const Lab q = to_lab(b);
  return std::hypot(p.lightness - q.lightness, p.a - q.a, p.b - q.b);
}

Colour eight_bit(Colour c) {
  const auto round = [](double v) { return std::round(v * 255) / 255; };
  return {round(c.red), round(c.green), round(c.blue)};
}

/// Grey of a printer without colour: luminance (ITU-R BT.709 weights), as lightness.
double print_lightness(Colour c) { return to_lab(c).lightness; }

}  // namespace

TEST_CASE("CIELAB of the sRGB primaries, as IEC 61966-2-1 and CIE 15 give them") {
  const auto check = [](Colour colour, Lab expected) {
    const Lab lab = to_lab(colour);
    CHECK(lab.lightness == doctest::Approx(expected.lightness).epsilon(0.0005));
    CHECK(std::abs(lab.a - expected.a) < 0.05);
    CHECK(std::abs(lab.b - expected.b) < 0.05);
  };
  check({1, 1, 1}, {100, 0, 0});
  check({1, 0, 0}, {53.24, 80.09, 67.20});
  check({0, 1, 0}, {87.73, -86.18, 83.18});
  check({0, 0, 1}, {32.30, 79.19, -107.86});
}

TEST_CASE("to_srgb undoes to_lab") {
  for (const Colour c : {Colour{0.1, 0.5, 0.9}, Colour{0.8, 0.2, 0.3}, Colour{0.01, 0.02, 0.0}}) {
    const Colour back = to_srgb(to_lab(c));
    CHECK(std::abs(back.red - c.red) < 1e-4);
    CHECK(std::abs(back.green - c.green) < 1e-4);
    CHECK(std::abs(back.blue - c.blue) < 1e-4);
  }
}

TEST_CASE("the level scale stays inside sRGB, so that no lightness is lost to clipping") {
  for (int i = 0; i <= 1000; ++i) CHECK(in_gamut(level_lab(i / 1000.0)));
}

TEST_CASE("the level scale darkens strictly and evenly from quiet to loud") {
  for (int i = 0; i < 1000; ++i) {
    CHECK(print_lightness(level_colour((i + 1) / 1000.0)) <
          print_lightness(level_colour(i / 1000.0)));
  }
  // In 8 bits a step of 1/128, 0.7 of lightness, is the finest that survives rounding everywhere.
  for (int i = 0; i < 128; ++i) {
    CHECK(print_lightness(eight_bit(level_colour((i + 1) / 128.0))) <
          print_lightness(eight_bit(level_colour(i / 128.0))));
  }
  // Even: each tenth of the scale takes a tenth of the lightness.
  const double whole = print_lightness(level_colour(0)) - print_lightness(level_colour(1));
  CHECK(whole > 80);
  for (int i = 0; i < 10; ++i) {
    const double part =
        print_lightness(level_colour(i / 10.0)) - print_lightness(level_colour((i + 1) / 10.0));
    CHECK(part == doctest::Approx(whole / 10).epsilon(0.02));
  }
}

TEST_CASE("steps of the level scale stay apart and in order with red-green colour deficiency") {
  for (const Matrix& matrix : {kProtanopia, kDeuteranopia}) {
    for (int i = 0; i < 12; ++i) {
      const Colour here = seen_with(matrix, level_colour(i / 12.0));
      const Colour next = seen_with(matrix, level_colour((i + 1) / 12.0));
      CHECK(difference(here, next) > 5);  // twice what the eye just tells apart
      CHECK(to_lab(next).lightness < to_lab(here).lightness - 4);
    }
  }
}

TEST_CASE("any two series differ in colour, with colour deficiency, or else in shape and dash") {
  for (std::size_t i = 0; i < kMaxSeries; ++i) {
    for (std::size_t k = i + 1; k < kMaxSeries; ++k) {
      CAPTURE(i);
      CAPTURE(k);
      const SeriesStyle& a = series_style(i);
      const SeriesStyle& b = series_style(k);
      CHECK(a.shape != b.shape);
      CHECK(a.dash != b.dash);
      CHECK(difference(a.colour, b.colour) > 20);
      for (const Matrix& matrix : {kProtanopia, kDeuteranopia}) {
        CHECK(difference(seen_with(matrix, a.colour), seen_with(matrix, b.colour)) > 10);
      }
    }
  }
}

TEST_CASE("words stand out from paper at least 4.5 to 1 (WCAG 2.1, 1.4.3)") {
  const auto luminance = [](Colour c) {
    return 0.2126 * linear(c.red) + 0.7152 * linear(c.green) + 0.0722 * linear(c.blue);
  };
  for (const Colour colour : {palette().ink, palette().quiet, palette().band}) {
    CHECK((luminance(palette().paper) + 0.05) / (luminance(colour) + 0.05) > 4.5);
  }
}
