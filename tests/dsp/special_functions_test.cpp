#include "dsp/special_functions.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

using namespace howl;

TEST_CASE("sinc is 1 at 0, 2/π at a half, and 0 at whole numbers") {
  CHECK(sinc(0.0) == 1.0);
  CHECK(sinc(0.5) == doctest::Approx(2.0 / std::numbers::pi).epsilon(1e-15));
  CHECK(std::abs(sinc(1.0)) < 1e-15);
  CHECK(std::abs(sinc(-3.0)) < 1e-15);
}

// e^−x·I0(x) by SciPy's special.i0e, to ten places.
TEST_CASE("the modified Bessel function of order 0 is SciPy's") {
  CHECK(bessel_i0(0.0) == 1.0);
  CHECK(std::abs(std::exp(-1.0) * bessel_i0(1.0) - 0.4657596076) < 1e-10);
  CHECK(std::abs(std::exp(-5.0) * bessel_i0(5.0) - 0.1835408126) < 1e-10);
}
