#include "dsp/bearing.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <stdexcept>

using namespace howl;

namespace {

/// Printed to `digits` decimals.
void check_printed(double value, double printed, int digits) {
  CHECK(std::abs(value - printed) <= 0.5001 * std::pow(10.0, -digits));
}

}  // namespace

TEST_CASE("defect orders of 6205-2RS as the Case Western Reserve bearing data page prints them") {
  // Its geometry in inches, from memory: 9 balls of 0.3126 on a pitch circle of 1.537. The page
  // calls the double spin rate "rolling element".
  const DefectOrders orders = defect_orders({9, 0.3126, 1.537, 0.0});
  check_printed(orders.inner_race, 5.4152, 4);
  check_printed(orders.outer_race, 3.5848, 4);
  check_printed(orders.cage, 0.39828, 4);
  CHECK(orders.element_flaw == doctest::Approx(4.7135).epsilon(1e-4));
  // The same page's speed at no load: 1797 rpm. A card of the data set prints these in Hz.
  const double shaft = 1797.0 / 60.0;
  check_printed(orders.inner_race * shaft, 162.2, 1);
  check_printed(orders.outer_race * shaft, 107.4, 1);
  check_printed(orders.element_spin * shaft, 70.6, 1);
  check_printed(orders.cage * shaft, 11.9, 1);
  // Its speeds at 0, 1, 2 and 3 hp; the rates are the printed multiples times those, by hand.
  struct Row {
    double rpm, inner_hz, outer_hz;
  };
  for (const Row& row : {Row{1797, 162.19, 107.36}, Row{1772, 159.93, 105.87},
                         Row{1750, 157.94, 104.56}, Row{1730, 156.14, 103.36}}) {
    CAPTURE(row.rpm);
    check_printed(orders.inner_race * row.rpm / 60.0, row.inner_hz, 2);
    check_printed(orders.outer_race * row.rpm / 60.0, row.outer_hz, 2);
  }
}

TEST_CASE("defect orders of 6203-2RS as the Case Western Reserve bearing data page prints them") {
  const DefectOrders orders = defect_orders({8, 0.2656, 1.122, 0.0});  // geometry from memory
  CHECK(orders.inner_race == doctest::Approx(4.9469).epsilon(2e-5));
  CHECK(orders.outer_race == doctest::Approx(3.0530).epsilon(5e-5));
  CHECK(orders.cage == doctest::Approx(0.3817).epsilon(3e-4));
  CHECK(orders.element_flaw == doctest::Approx(3.9874).epsilon(1e-4));
  // As an idler at 2.2 times engine speed, worked by hand: never a whole number.
  CHECK(2.2 * orders.outer_race == doctest::Approx(6.717).epsilon(1e-4));
  CHECK(2.2 * orders.inner_race == doctest::Approx(10.883).epsilon(1e-4));
}

TEST_CASE("defect orders of ER-16K as the Curtin University data note prints them") {
  const DefectOrders orders = defect_orders({9, 7.9375, 38.50, 0.0});
  check_printed(orders.inner_race, 5.428, 3);
  check_printed(orders.outer_race, 3.572, 3);
  check_printed(orders.cage, 0.3969, 4);
  check_printed(orders.element_spin, 2.32, 2);
}

TEST_CASE("defect rates of UER204 have the ratios that its data set's card prints") {
  // The card's 169.0/106.0/13.2/71.0 Hz belong to a speed a little below the nominal 35 Hz.
  const DefectOrders orders = defect_orders({8, 7.92, 34.55, 0.0});
  check_printed(35.0 * orders.inner_race, 172.09, 2);
  check_printed(35.0 * orders.outer_race, 107.91, 2);
  check_printed(35.0 * orders.cage, 13.49, 2);
  check_printed(35.0 * orders.element_spin, 72.33, 2);
  CHECK(orders.inner_race / orders.outer_race == doctest::Approx(169.0 / 106.0).epsilon(0.002));
  CHECK(orders.element_spin / orders.outer_race == doctest::Approx(71.0 / 106.0).epsilon(0.002));
}

TEST_CASE("defect rates with a contact angle, worked by hand") {
  // 8 elements of 2 cm on 12 cm at 15°, 25 Hz: d/D·cos 15° = 0.160988.
  const DefectOrders orders = defect_orders({8, 2.0, 12.0, 15.0 * std::numbers::pi / 180.0});
  check_printed(25.0 * orders.inner_race, 116.10, 2);
  check_printed(25.0 * orders.outer_race, 83.90, 2);
  check_printed(25.0 * orders.cage, 10.49, 2);
  check_printed(25.0 * orders.element_spin, 73.06, 2);
}

TEST_CASE("defect rates of 8 balls of 0.235 in on 1.245 in at 25 Hz (geometry from memory)") {
  // Published as 118.875 and 81.125 Hz (from memory); the others worked by hand.
  const DefectOrders orders = defect_orders({8, 0.235, 1.245, 0.0});
  CHECK(std::abs(25.0 * orders.inner_race - 118.875) <= 0.0015);
  CHECK(std::abs(25.0 * orders.outer_race - 81.125) <= 0.0015);
  check_printed(25.0 * orders.cage, 10.141, 3);
  check_printed(25.0 * orders.element_spin, 63.864, 3);
}

TEST_CASE("outer and inner race together see every element once a turn of the shaft") {
  for (const int elements : {5, 8, 13}) {
    const DefectOrders orders = defect_orders({elements, 7.0, 31.0, 0.3});
    CHECK(orders.outer_race + orders.inner_race == doctest::Approx(elements));
    CHECK(orders.outer_race == doctest::Approx(elements * orders.cage));
  }
}

TEST_CASE("the tolerance spreads the defect orders to both sides") {
  const BearingGeometry bearing{9, 7.9375, 38.50, 0.2};
  const DefectOrders orders = defect_orders(bearing);
  const DefectIntervals slip = defect_intervals(bearing, {.slip = 0.02});
  CHECK(slip.outer_race.low == doctest::Approx(0.98 * orders.outer_race));
  CHECK(slip.outer_race.high == doctest::Approx(1.02 * orders.outer_race));
  // A steeper contact lets more elements pass the outer race, and fewer the inner.
  const DefectIntervals angle = defect_intervals(bearing, {.slip = 0.0, .contact_angle = 0.1});
  CHECK(angle.outer_race.high ==
        doctest::Approx(defect_orders({9, 7.9375, 38.50, 0.3}).outer_race));
  CHECK(angle.inner_race.low == doctest::Approx(defect_orders({9, 7.9375, 38.50, 0.3}).inner_race));
}

TEST_CASE("impossible bearings are refused") {
  CHECK_THROWS_AS(defect_orders({0, 7.0, 31.0, 0.0}), std::invalid_argument);
  CHECK_THROWS_AS(defect_orders({8, 31.0, 31.0, 0.0}), std::invalid_argument);
  CHECK_THROWS_AS(defect_orders({8, 7.0, 31.0, 1.6}), std::invalid_argument);
}

TEST_CASE("ratio of ribbed pulleys by effective diameters (ISO 9981:2020, 5.4, b_e = 2 mm)") {
  // Worked by hand: (160 + 4)/(55 + 4) and so on, against 160/55, and by how many per cent less.
  // That the differential counts twice on a diameter is from memory.
  struct Row {
    double driving, driven, plain, ratio, less;
  };
  for (const Row& row :
       {Row{160, 55, 2.9091, 2.7797, 4.45}, Row{150, 50, 3.0000, 2.8519, 4.94},
        Row{160, 130, 1.2308, 1.2239, 0.56}, Row{160, 110, 1.4545, 1.4386, 1.10}}) {
    CAPTURE(row.driven);
    const double ratio = pulley_ratio(row.driving, row.driven, 2.0);
    const double plain = pulley_ratio(row.driving, row.driven, 0.0);
    check_printed(ratio, row.ratio, 4);
    check_printed(plain, row.plain, 4);
    check_printed(100.0 * (1.0 - ratio / plain), row.less, 2);
  }
  CHECK_THROWS_AS(pulley_ratio(0.0, 50.0, 2.0), std::invalid_argument);
}
