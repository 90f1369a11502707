#include "src/report/scale.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "dsp/statistics.h"

using namespace howl;
using namespace howl::picture;

namespace {

/// Seven units a character.
double label_width(const std::string& label) {
  const auto starts = [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80; };
  return 7.0 * static_cast<double>(std::count_if(label.begin(), label.end(), starts));
}

void check_apart(const std::vector<Tick>& ticks, const Scale& scale, double gap) {
  for (std::size_t i = 1; i < ticks.size(); ++i) {
    const double distance =
        std::abs(*scale.position(ticks[i].value) - *scale.position(ticks[i - 1].value));
    CHECK(distance >= (label_width(ticks[i].label) + label_width(ticks[i - 1].label)) / 2 + gap);
  }
}

}  // namespace

TEST_CASE("a nice step is 1, 2 or 5 times a power of ten, and at most 2.5 times what was asked") {
  // Heckbert 1990, "Nice Numbers for Graph Labels", Graphics Gems, pp. 61-63.
  Random random(1);
  for (int i = 0; i < 2000; ++i) {
    const double span = std::pow(10.0, -6 + 12 * draw_uniform(random));
    const double step = nice_step(span);
    const double mantissa = step / std::pow(10.0, std::floor(std::log10(step) + 1e-9));
    CAPTURE(span);
    CHECK((std::abs(mantissa - 1) < 1e-9 || std::abs(mantissa - 2) < 1e-9 ||
           std::abs(mantissa - 5) < 1e-9));
    CHECK(step >= span * (1 - 1e-6));
    CHECK(step <= 2.5 * span * (1 + 1e-6));
  }
  CHECK(nice_step(0.3) == doctest::Approx(0.5));
  CHECK(nice_step(20) == doctest::Approx(20));
  CHECK(nice_step(51) == doctest::Approx(100));
}

TEST_CASE("linear ticks are the multiples of the step inside the range, and nothing else") {
  const std::vector<Tick> ticks = linear_ticks(-0.25, 0.31, 0.1);
  REQUIRE(ticks.size() == 6);
  CHECK(ticks.front().label == "−0.2");
  CHECK(ticks[2].label == "0.0");  // never "−0.0"
  CHECK(ticks.back().label == "0.3");
  CHECK(linear_ticks(1.2, 1.8, 1).empty());
}

TEST_CASE("tick labels keep their distance on any axis") {
  Random random(2);
  for (int i = 0; i < 500; ++i) {
    const bool logarithmic = i % 2 == 1;
    const double size = std::pow(10.0, -3 + 8 * draw_uniform(random));
    const double low = logarithmic ? size : size * (2 * draw_uniform(random) - 1);
    const double high = logarithmic ? low * std::pow(10.0, 0.05 + 6 * draw_uniform(random))
                                    : low + size * (0.01 + draw_uniform(random));
    const Scale scale{low, high, logarithmic, 80, 120 + 600 * draw_uniform(random)};
    CAPTURE(low);
    CAPTURE(high);
    check_apart(axis_ticks(scale, label_width, 12, 36), scale, 12);
  }
}

TEST_CASE("a page-wide axis always has at least three labelled ticks") {
  Random random(3);
  for (int i = 0; i < 500; ++i) {
    const bool logarithmic = i % 2 == 1;
    const double low = 1 + 5000 * draw_uniform(random);
    const double high = low * (logarithmic ? std::pow(10.0, 0.1 + 4 * draw_uniform(random))
                                           : 1.05 + draw_uniform(random));
    CAPTURE(low);
    CAPTURE(high);
    CHECK(axis_ticks({low, high, logarithmic, 84, 740}, label_width, 12, 36).size() >= 3);
  }
}

TEST_CASE("a logarithmic frequency axis counts 1-2-5") {
  const auto ticks = axis_ticks({20, 20000, true, 84, 740}, label_width, 12, 50);
  std::string labels;
  for (const Tick& tick : ticks) labels += tick.label + " ";
  CHECK(labels == "20 50 100 200 500 1000 2000 5000 10\u2009000 20\u2009000 ");
}

TEST_CASE("a value and its place on the page are each other's inverse") {
  for (const bool logarithmic : {false, true}) {
    const Scale scale{20, 2000, logarithmic, 400, 100};
    for (const double value : {20.0, 33.0, 700.0, 2000.0}) {
      CHECK(scale.value_at(*scale.position(value)) == doctest::Approx(value));
    }
    CHECK_FALSE(scale.position(std::numeric_limits<double>::quiet_NaN()));
    CHECK_FALSE(scale.position(std::numeric_limits<double>::infinity()));
  }
  CHECK_FALSE(Scale{20, 2000, true, 0, 1}.position(0));
  CHECK_FALSE(Scale{20, 2000, true, 0, 1}.position(-5));
}

TEST_CASE("an axis that cannot be drawn says why") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK_FALSE(axis_fault({"Frequency", "Hz", 0, 2000, false}));
  CHECK_FALSE(axis_fault({"Frequency", "Hz", 20, 2000, true}));
  CHECK(axis_fault({"Frequency", "Hz", 0, 2000, true}) ==
        "Frequency is logarithmic and must begin above 0");
  CHECK(axis_fault({"Frequency", "Hz", 5, 5, false}) == "Frequency covers no range");
  CHECK(axis_fault({"Frequency", "Hz", 6, 5, false}) == "Frequency covers no range");
  CHECK(axis_fault({"Frequency", "Hz", nan, 5, false}) == "the range of Frequency is not known");
  CHECK(axis_fault({"Frequency", "Hz", 0, std::numeric_limits<double>::max(), false}));
}

TEST_CASE("numbers read well") {
  CHECK(format_number(-3.14159, 1) == "−3.1");
  CHECK(format_number(-0.04, 1) == "0.0");
  CHECK(format_number(9999, 0) == "9999");
  CHECK(format_number(1234567.8, 1) == "1\u2009234\u2009567.8");
  CHECK(format_number(-2e9, 0) == "−2e+09");
}
