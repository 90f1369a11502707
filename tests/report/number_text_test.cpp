#include "src/report/number_text.h"

#include <doctest/doctest.h>

#include <limits>

namespace howl {
namespace {

TEST_CASE("Spans and numbers for people") {
  CHECK(span_text({146.7, 458.3}, 0) == "147 … 458");
  CHECK(span_text({812.2, 812.4}, 0) == "812");
  CHECK(fixed_text(-0.01, 1) == "0.0");
  CHECK(fixed_text(-12.34, 1) == "-12.3");
  CHECK(fixed_text(std::numeric_limits<double>::quiet_NaN(), 1) == "-");
  CHECK(fixed_text(std::nullopt, 1) == "-");
}

TEST_CASE("An order is given with the farther end of its interval, never narrower than it is") {
  ToneResult tone;
  CHECK(order_text(tone) == "-");
  tone.order = 11.0;
  CHECK(order_text(tone) == "11.00");
  tone.order_ci95 = Interval{10.982, 11.011};
  CHECK(order_text(tone) == "11.00 ±0.02");
  tone.order_ci95 = Interval{10.999, 11.001};
  CHECK(order_text(tone) == "11.00 ±0.01");
}

TEST_CASE("A band names its unit") {
  using Unit = AnalysisRequest::Band::Unit;
  CHECK(band_text({Unit::hertz, {320.0, 380.0}}) == "320 … 380 Hz");
  CHECK(band_text({Unit::order, {9.5, 10.5}}) == "orders 9.50 … 10.50");
}

}  // namespace
}  // namespace howl
