#include "src/profile/expected_lines.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "src/errors.h"
#include "src/profile/source_toml.h"
#include "tests/src/profile/read_source_text.h"

using namespace howl;
using test::lines_of;
using test::only_line;

namespace {

ExpectedLine line_named(const std::vector<ExpectedLine>& lines, const std::string& words) {
  const auto found = std::ranges::find_if(
      lines, [&](const ExpectedLine& line) { return line.what.find(words) != std::string::npos; });
  REQUIRE(found != lines.end());
  return *found;
}

void check_at(const ExpectedLine& line, double order, double within) {
  CAPTURE(line.what);
  CHECK(std::abs(line.at.low - order) <= within);
  CHECK(std::abs(line.at.high - order) <= within);
}

const std::string crank = "drive = \"crank\"\n";
const char* const belt = "drive = \"belt\"\nslip = 0\n";

}  // namespace

TEST_CASE("expected lines: shares sum to 1 and places lie in order, for every kind") {
  for (const auto& [name, draft] : source_kinds()) {
    CAPTURE(name);
    const auto lines = expected_lines(test::source_of("", name));
    double sum = 0.0;
    for (const ExpectedLine& line : lines) {
      CHECK(line.at.low > 0.0);
      CHECK(line.at.low <= line.at.high);
      CHECK(line.shaft.low <= line.shaft.high);
      CHECK(line.share > 0.0);
      sum += line.share;
    }
    if (!lines.empty()) CHECK(sum == doctest::Approx(1.0));
  }
}

TEST_CASE("expected lines: a pump on the converter's hub has exact whole orders") {
  // Driven by the hub at engine speed (a maker's self-study text); order = driving rotor's lobes.
  const auto lines = lines_of(crank + "makes = [{ what = \"lobes\", count = [7, 13] }]");
  REQUIRE(lines.size() == 7);
  for (std::size_t n = 0; n < lines.size(); ++n) {
    CHECK(lines[n].at == Interval{7.0 + static_cast<double>(n), 7.0 + static_cast<double>(n)});
    CHECK(lines[n].exact);
    CHECK(lines[n].unit == ExpectedLine::Unit::order);
    CHECK(lines[n].shaft == Interval{1.0, 1.0});
    CHECK(lines[n].share == doctest::Approx(1.0 / 7.0));
  }
  CHECK(lines[3].what == "10 lobes");
}

TEST_CASE("expected lines: no belt and no tyre is exact, even at a whole order") {
  CHECK_FALSE(
      only_line(std::string(belt) + "ratio = 1\nmakes = [{ what = \"vanes\", count = 10 }]").exact);
  CHECK_FALSE(only_line("drive = \"road\"\nturns_per_metre = 0.5\n"
                        "makes = [{ what = \"teeth\", count = 40 }]")
                  .exact);
  CHECK_FALSE(
      only_line(crank + "ratio = [0.5, 1]\nmakes = [{ what = \"teeth\", count = 20 }]").exact);
  CHECK_FALSE(only_line(crank + "ratio = 0.5\nmakes = [{ what = \"vanes\", count = 5 }]").exact);
  CHECK(only_line(crank + "ratio = 0.5\nmakes = [{ what = \"vanes\", count = 4 }]").exact);
}

TEST_CASE("expected lines: ratio of pulleys with the line differential of ISO 9981:2020, 5.4") {
  // Effective diameters in mm, b_e = 2 mm: (de1 + 4) / (de2 + 4).
  const auto ratio = [](const std::string& pulleys) {
    return only_line(std::string(belt) + "pulleys = { " + pulleys +
                     " }\nmakes = [{ what = \"x\", count = 1 }]");
  };
  check_at(ratio("crank = 160, driven = 55"), 2.7797, 5e-5);
  check_at(ratio("crank = 150, driven = 50"), 2.8519, 5e-5);
  check_at(ratio("crank = 160, driven = 130"), 1.2239, 5e-5);
  check_at(ratio("crank = 160, driven = 110"), 1.4386, 5e-5);
  const ExpectedLine spread = ratio("crank = [150, 160], driven = [50, 55]");
  CHECK(spread.at.low == doctest::Approx(154.0 / 59.0));
  CHECK(spread.at.high == doctest::Approx(164.0 / 54.0));
}

TEST_CASE("expected lines: slip lowers the order only, tolerance widens it both ways") {
  // n2/n1 = (d1/d2)(1 - s/100).
  const ExpectedLine slipping = only_line(
      "drive = \"belt\"\nratio = 1.2\nslip = [0.005, 0.02]\nmakes = [{ what = \"vanes\", count = "
      "10 }]");
  CHECK(slipping.at.low == doctest::Approx(12.0 * 0.98));
  CHECK(slipping.at.high == doctest::Approx(12.0 * 0.995));
  CHECK(slipping.shaft.low == doctest::Approx(1.2 * 0.98));
  const ExpectedLine tolerant =
      only_line(std::string(belt) +
                "ratio = 2\nratio_tolerance = 0.03\nmakes = [{ what = \"x\", count = 1 }]");
  CHECK(tolerant.at.low == doctest::Approx(1.94));
  CHECK(tolerant.at.high == doctest::Approx(2.06));
}

TEST_CASE("expected lines: turns of a belt are its pitch circumference over its length") {
  // pi (de1 + 2 b_e) / L; 160 mm on 1850 mm worked out by hand: pi * 164 / 1850.
  const ExpectedLine turns = only_line(
      std::string(belt) +
      "pulleys = { crank = 160, belt_length = 1850 }\nmakes = [{ what = \"turns\", count = 1 }]");
  check_at(turns, 0.27850, 1e-5);
}

TEST_CASE("expected lines: six ripple pulses a pole pair of an alternator") {
  // Order 36 of the rotor with 12 poles (NUAA 2018), 48 with 16. Crankshaft at 2000 rpm, ratio 2.8:
  // 3360 Hz, engine order 100.8; 4480 Hz.
  const std::string ratio = std::string(belt) + "ratio = 2.8\n";
  check_at(only_line(ratio + "makes = [{ poles = 12 }]"), 100.8, 1e-9);
  const ExpectedLine sixteen = only_line(ratio + "makes = [{ poles = 16 }]");
  CHECK(sixteen.at.low * 2000.0 / 60.0 == doctest::Approx(4480.0));
  CHECK(lines_of(ratio + "makes = [{ poles = [12, 16] }]").size() == 3);
}

TEST_CASE("expected lines: defect orders of published bearings lie within the spread") {
  // Case Western Reserve University, drive end 6205: BPFI 5.4152, BPFO 3.5848, FTF 0.39828, a flaw
  // of a ball 4.7135; fan end 6203: 4.9469, 3.0530, 0.3817, 3.9874. Curtin University, ER-16K:
  // 5.428, 3.572, 0.3969, 2 x 2.32. The spread is 2 % of slip to either side.
  struct Published {
    const char* geometry;
    double inner, outer, cage, element;
  };
  for (const auto& [geometry, inner, outer, cage, element] :
       {Published{"elements = 9, ball = 0.3126, pitch = 1.537", 5.4152, 3.5848, 0.39828, 4.7135},
        Published{"elements = 8, ball = 0.2656, pitch = 1.122", 4.9469, 3.0530, 0.3817, 3.9874},
        Published{"elements = 9, ball = 7.9375, pitch = 38.50", 5.428, 3.572, 0.3969, 4.64}}) {
    CAPTURE(geometry);
    const auto lines = lines_of(crank + "makes = [{ bearing = { " + geometry + " } }]");
    REQUIRE(lines.size() == 4);
    const auto check = [&](const char* part, double order) {
      const ExpectedLine line = line_named(lines, part);
      CAPTURE(part);
      CHECK(line.at.contains(order));
      CHECK(0.5 * (line.at.low + line.at.high) == doctest::Approx(order).epsilon(2e-3));
      CHECK(line.at.width() == doctest::Approx(0.04 * order).epsilon(0.02));
      CHECK_FALSE(line.exact);
    };
    check("inner race", inner);
    check("outer race", outer);
    check("cage", cage);
    check("an element", element);
  }
}

TEST_CASE("expected lines: a 6203 idler at ratio 2.2 shows at orders that are never whole") {
  // Worked out from the geometry of 6203: 3.0531 x 2.2 = 6.717, 4.9469 x 2.2 = 10.883.
  const auto lines = lines_of(std::string(belt) +
                              "ratio = 2.2\nmakes = [{ bearing = { elements = 8, ball = 0.2656, "
                              "pitch = 1.122, outer_turns = true } }]");
  CHECK(line_named(lines, "outer race").at.contains(6.717));
  CHECK(line_named(lines, "inner race").at.contains(10.883));
  // The outer race turns: the cage turns with it, (1 + d/D)/2 = 0.6184 times, and not 0.3816.
  CHECK(line_named(lines, "cage").at.contains(0.6184 * 2.2));
}

TEST_CASE("expected lines: an unknown bearing covers the published ones") {
  const auto lines = lines_of(crank + "makes = [{ bearing = \"unknown\" }]");
  const auto covered = [&](const char* part, const char* elements, double order) {
    return std::ranges::any_of(lines, [&](const ExpectedLine& line) {
      return line.what.find(part) != std::string::npos &&
             line.what.find(elements) != std::string::npos && line.at.contains(order);
    });
  };
  CHECK(covered("inner race", "9 elements", 5.4152));
  CHECK(covered("outer race", "9 elements", 3.572));
  CHECK(covered("inner race", "8 elements", 4.9469));
  CHECK(covered("outer race", "8 elements", 107.91 / 35.0));  // UER204 at 35 Hz
  CHECK_FALSE(covered("outer race", "8 elements", 2.0));
}

TEST_CASE("expected lines: meshes of planetary sets") {
  const auto mesh = [](const std::string& set) {
    return only_line(crank + "makes = [{ planetary = { " + set + " } }]");
  };
  // 21/108: sun in and ring held, mesh order 17.5814 of the sun, as also of the ring with the sun
  // held (gear program listing of Ljubljana for the ratio 6.14286); carrier held: 21.
  check_at(mesh("sun = 21, ring = 108, held = \"ring\", turning = \"sun\""), 17.5814, 5e-5);
  check_at(mesh("sun = 21, ring = 108, held = \"sun\", turning = \"ring\""), 17.5814, 5e-5);
  check_at(mesh("sun = 21, ring = 108, held = \"carrier\", turning = \"sun\""), 21.0, 0.0);
  check_at(mesh("sun = 21, ring = 108, held = \"ring\", turning = \"carrier\""), 108.0, 1e-9);
  check_at(mesh("sun = 21, ring = 108, held = \"sun\", turning = \"carrier\""), 21.0, 1e-9);
  // Shigley, Example 13-6 (from memory): sun 20, ring 80, ring held: mesh order 16 of the sun.
  check_at(mesh("sun = 20, ring = 80, held = \"ring\", turning = \"sun\""), 16.0, 1e-9);
  CHECK(lines_of(crank + "makes = [{ planetary = { sun = [24, 25], ring = [70, 72], "
                         "held = \"ring\", turning = \"carrier\" } }]")
            .size() == 3);
}

TEST_CASE("expected lines: what planets let through at a ring at rest") {
  // McFadden and Smith 1985: multiples of the number of planets only. Worked out by hand: 3 planets
  // on 80 teeth: 78 and 81; 3 on 108: 108; 4 on 80: 80.
  const auto orders = [](const std::string& set) {
    std::vector<double> at;
    for (const ExpectedLine& line : lines_of(crank + "makes = [{ planetary = { " + set +
                                             ", held = \"ring\", turning = \"carrier\" } }]"))
      at.push_back(line.at.low);
    std::ranges::sort(at);
    return at;
  };
  CHECK(orders("sun = 20, ring = 80, planets = 3") == std::vector<double>{78.0, 81.0});
  CHECK(orders("sun = 21, ring = 108, planets = 3") == std::vector<double>{108.0});
  CHECK(orders("sun = 20, ring = 80, planets = 4") == std::vector<double>{80.0});
}

TEST_CASE("expected lines: what turns with the road is told in cycles a metre") {
  // 205/55 R16: diameter 631.9 mm, 1.9852 m a turn; at 100 km/h 13.99 Hz. Ring gear 41 on 11:
  // at a wheel of 14.413 Hz (1.9273 m a turn) the mesh is at 590.9 Hz, the propeller shaft
  // at 53.72.
  const auto at_100 = [](const ExpectedLine& line) { return line.at.low * 100.0 / 3.6; };
  const std::string one = "makes = [{ what = \"turns\", count = 1 }]";
  const ExpectedLine wheel = expected_lines(
      test::source_of("drive = \"road\"\n" + one, "tyre", {.circumference = {1.9852, 1.9852}}))[0];
  CHECK(wheel.unit == ExpectedLine::Unit::cycles_per_metre);
  CHECK(at_100(wheel) == doctest::Approx(13.99).epsilon(1e-3));
  const Wheels wheels{.circumference = {1.9273, 1.9273}, .final_drive = {41.0 / 11.0, 41.0 / 11.0}};
  const ExpectedLine mesh = expected_lines(test::source_of(
      "makes = [{ what = \"teeth\", count = 41 }]", "final drive gears", wheels))[0];
  CHECK(at_100(mesh) == doctest::Approx(590.9).epsilon(1e-3));
  const ExpectedLine shaft =
      expected_lines(test::source_of(one, "propeller shaft bearing", wheels))[0];
  CHECK(at_100(shaft) == doctest::Approx(53.72).epsilon(1e-3));
  // 30 in tyre: 672.27 turns a mile; 60 mph: 11.20 Hz.
  const ExpectedLine pickup = only_line(
      "drive = \"road\"\nturns_per_metre = " + std::to_string(672.27 / 1609.344) + "\n" + one);
  CHECK(pickup.at.low * 60.0 * 1609.344 / 3600.0 == doctest::Approx(11.20).epsilon(1e-3));
  // It turns 300 times a minute at 26.8 mph.
  CHECK(300.0 / 60.0 / pickup.at.low * 3600.0 / 1609.344 == doctest::Approx(26.8).epsilon(1e-3));
  // Rolling under load a wheel travels about 3.05 times its diameter (from memory): 1.9273 m.
  CHECK(3.05 * 0.6319 == doctest::Approx(wheels.circumference.low).epsilon(1e-4));
  const ExpectedLine rolling =
      expected_lines(test::source_of("drive = \"road\"\n" + one, "tyre", wheels))[0];
  CHECK(at_100(rolling) == doctest::Approx(14.41).epsilon(1e-3));
}

TEST_CASE("expected lines: blades of a belt-driven fan, pistons, sprocket teeth") {
  // 7 blades x 1.25: engine order 8.75, less with the clutch's slip.
  const ExpectedLine fan = only_line(
      "drive = \"belt\"\nratio = 1.25\nslip = [0, 0.4]\nmakes = [{ what = \"blades\", count = 7 "
      "}]");
  CHECK(fan.at.high == doctest::Approx(8.75));
  CHECK(fan.at.low == doctest::Approx(8.75 * 0.6));
  // From memory: the crankshaft sprocket's teeth, about 18 to 24, are engine orders.
  for (const ExpectedLine& line : expected_lines(test::source_of("", "timing chain"))) {
    CHECK(line.exact);
    CHECK(line.at.low >= 17.0);
    CHECK(line.at.high <= 26.0);
  }
}

TEST_CASE("expected lines: gears mesh at teeth times shaft") {
  // 23 teeth at 1800 rpm: 690 Hz.
  const ExpectedLine mesh = only_line(crank + "makes = [{ what = \"teeth\", count = 23 }]");
  CHECK(mesh.at.low * 1800.0 / 60.0 == doctest::Approx(690.0));
}

TEST_CASE("expected lines: pulses of an odd number of vanes skip the numbers between") {
  const auto lines = lines_of(crank + "makes = [{ what = \"vanes\", count = [9, 11], times = 2 }]");
  REQUIRE(lines.size() == 3);
  CHECK(lines[0].at.low == 18.0);
  CHECK(lines[1].at.low == 20.0);
  CHECK(lines[2].at.low == 22.0);
}

TEST_CASE("expected lines: a pitch in hertz where it is known, none where it is not") {
  const ExpectedLine fan =
      only_line("drive = \"free\"\nhertz = [140, 420]\nmakes = [{ what = \"blades\", count = 7 }]");
  CHECK(fan.unit == ExpectedLine::Unit::hertz);
  CHECK(fan.at == Interval{140.0, 420.0});
  CHECK(fan.shaft.low == doctest::Approx(20.0));
  CHECK(fan.shaft.high == doctest::Approx(60.0));
  CHECK(lines_of("drive = \"ringing\"\nmakes = []").empty());
  CHECK(lines_of(crank + "makes = []").empty());
}
