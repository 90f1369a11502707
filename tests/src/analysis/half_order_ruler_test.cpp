#include "src/analysis/half_order_ruler.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "dsp/statistics.h"

using namespace howl;

namespace {

constexpr double kWrittenRpm = 1800.0;

Sighting ruled_line(double hertz) {
  Sighting s;
  s.points = {{.frequency_hz = hertz,
               .sigma_hz = 0.01,
               .rpm = kWrittenRpm,
               .speed_sigma = 0.005,
               .road_speed_kmh = {},
               .take = 0}};
  s.levels_db = {-40.0};
  s.tone_to_noise_db = 10.0;
  return s;
}

std::vector<Sighting> half_orders(double true_rpm, double up_to) {
  std::vector<Sighting> lines;
  for (double order = 1.0; order <= up_to; order += 0.5)
    lines.push_back(ruled_line(order * true_rpm / 60.0));
  return lines;
}

}  // namespace

TEST_CASE("ruler: half orders say how far the written speed is off") {
  for (const double off : {-0.012, -0.004, 0.0, 0.007}) {
    CAPTURE(off);
    auto lines = half_orders(kWrittenRpm * (1.0 + off), 10.0);
    lines.push_back(ruled_line(10.15 * 30.0 * (1.0 + off)));
    lines.push_back(ruled_line(7.77 * 30.0 * (1.0 + off)));
    const HalfOrderRulers rulers = half_order_rulers(lines);
    REQUIRE(rulers.size() == 1);
    const HalfOrderRuler& ruler = rulers.at(0);
    CHECK(ruler.log_scale == doctest::Approx(std::log1p(off)).epsilon(1e-6));
    const auto place = [&](double order) {
      return ruler.place(std::log(order * (1.0 + off)), 3e-5);
    };
    CHECK(place(10.0) == RulerPlace::on_half_order);
    CHECK(place(10.15) == RulerPlace::between);
    CHECK(place(10.05) == RulerPlace::between);
    CHECK(place(9.5) == RulerPlace::on_half_order);
  }
}

TEST_CASE("ruler: an error as wide as the gap, or too few lines, leaves it open") {
  const HalfOrderRulers rulers = half_order_rulers(half_orders(kWrittenRpm, 10.0));
  CHECK(rulers.at(0).place(std::log(200.0), 3e-5) == RulerPlace::unsure);
  CHECK(rulers.at(0).place(std::log(10.15), 0.01) == RulerPlace::unsure);
  CHECK(half_order_rulers(half_orders(kWrittenRpm, 3.0)).empty());
}

TEST_CASE("ruler: lines of anything else are seldom one") {
  // Six of ten lines within 0.012 orders of a half order (one chance in twenty for each, at each
  // of the few scales that differ): less than one draw in a hundred.
  Random random(7);
  int found = 0;
  for (int draw = 0; draw < 500; ++draw) {
    std::vector<Sighting> lines;
    for (int k = 0; k < 10; ++k)
      lines.push_back(ruled_line(30.0 * (0.5 + 10.0 * draw_uniform(random))));
    found += half_order_rulers(lines).empty() ? 0 : 1;
  }
  CHECK(found <= 5);
}
