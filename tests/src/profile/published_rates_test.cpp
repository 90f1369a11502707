#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "src/profile/expected_lines.h"
#include "src/profile/profile.h"
#include "tests/src/profile/read_source_text.h"

// Rates that were published, or follow from a published formula, read as a profile's author would
// write them and taken from the lines that the reasoning holds against tones.

using namespace howl;
using test::lines_of;
using test::only_line;

namespace {

const std::string by_crank = "drive = \"crank\"\n";

std::string makes(const std::string& one) { return "makes = [{ " + one + " }]"; }

double middle(const Interval& span) { return 0.5 * (span.low + span.high); }

/// Whether one of the shafts in mesh turns that often.
bool turns(const ExpectedLine& line, double rate) {
  return std::ranges::any_of(line.other_shafts, [&](const Interval& shaft) {
    return std::abs(shaft.low - rate) < 1e-5 && std::abs(shaft.high - rate) < 1e-5;
  });
}

bool has_line_at(const std::vector<ExpectedLine>& lines, double order) {
  return std::ranges::any_of(lines, [&](const ExpectedLine& line) {
    return std::abs(line.at.low - order) < 1e-9 && std::abs(line.at.high - order) < 1e-9;
  });
}

}  // namespace

TEST_CASE("published rates: a pair of gears, its other shaft, and how often the same teeth meet") {
  // 23 teeth at 1800 rpm = 30 Hz drive 67: mesh 690 Hz, the mate turns at 690/67 = 10.2985 Hz, and
  // the same two teeth meet 690 / (23·67) = 0.4478 times a second (numbers without common factor).
  const ExpectedLine hunting =
      only_line(by_crank + makes("what = \"teeth\", count = 23, mate = 67"));
  CHECK(hunting.at.low * 30.0 == doctest::Approx(690.0));
  REQUIRE(hunting.other_shafts.size() == 1);
  CHECK(hunting.other_shafts.front().low * 30.0 == doctest::Approx(10.2985).epsilon(1e-5));
  REQUIRE(hunting.same_teeth);
  CHECK(hunting.same_teeth->low * 30.0 == doctest::Approx(0.4478).epsilon(1e-4));
  // 20 on 60, common factor 20: each tooth meets three others only, 600·20 / (20·60) = 10 times a
  // second. A glossary's gcd·rpm/60 would make it 600.
  const ExpectedLine common =
      only_line(by_crank + makes("what = \"teeth\", count = 20, mate = 60"));
  REQUIRE(common.same_teeth);
  CHECK(common.same_teeth->low * 30.0 == doctest::Approx(10.0));
}

TEST_CASE(
    "published rates: teeth that are not known exactly leave a spread, and no pair of teeth") {
  const ExpectedLine line =
      only_line(by_crank + makes("what = \"teeth\", count = 20, mate = [40, 50]"));
  CHECK(line.other_shafts == std::vector<Interval>{{20.0 / 50.0, 20.0 / 40.0}});
  CHECK_FALSE(line.same_teeth);
}

TEST_CASE("published rates: a train of gears turns by the product of its stages") {
  // 20 on 60, on whose shaft 23 drive 67: 1/3 · 23/67; the last wheel's 67 teeth pass
  // 20·23/60 = 7.6667 times a crank turn.
  const std::string train =
      "gears = [{ driving = 20, driven = 60 }, { driving = 23, driven = 67 }]\n";
  const ExpectedLine last = only_line(by_crank + train + makes("what = \"teeth\", count = 67"));
  CHECK(last.shaft.low == doctest::Approx(23.0 / 201.0));
  CHECK(last.at.low == doctest::Approx(7.66667).epsilon(1e-6));
  CHECK_FALSE(last.exact);
  // 18 on 27: 2/3; six lobes give order 4, whole though 2/3 is no binary fraction.
  const ExpectedLine whole = only_line(by_crank + "gears = [{ driving = 18, driven = 27 }]\n" +
                                       makes("what = \"lobes\", count = 6"));
  CHECK(whole.at.low == doctest::Approx(4.0));
  CHECK(whole.exact);
}

TEST_CASE("published rates: an axle of 41 on 11 meshes at order 41 of the wheel, 11 of the shaft") {
  // Ratio 3.7273; 1.9273 m a turn at 100 km/h: wheel 14.413 Hz, mesh 590.9 Hz, shaft 53.72 Hz.
  const Wheels wheels{.circumference = {1.9273, 1.9273}, .final_drive = {41.0 / 11.0, 41.0 / 11.0}};
  const double metres_per_second = 100.0 / 3.6;
  const auto line = [&](const std::string& keys) {
    return expected_lines(test::source_of(keys, "final drive gears", wheels)).front();
  };
  const ExpectedLine of_wheel = line(makes("what = \"teeth\", count = 41, mate = 11"));
  const ExpectedLine of_shaft =
      line("shaft = \"output\"\n" + makes("what = \"teeth\", count = 11, mate = 41"));
  CHECK(of_wheel.at.low == doctest::Approx(of_shaft.at.low));
  CHECK(of_wheel.at.low * metres_per_second == doctest::Approx(590.9).epsilon(1e-4));
  CHECK(of_wheel.shaft.low * metres_per_second == doctest::Approx(14.413).epsilon(1e-4));
  CHECK(of_wheel.other_shafts.front().low * metres_per_second ==
        doctest::Approx(53.72).epsilon(1e-4));
  CHECK(of_shaft.other_shafts.front().low == doctest::Approx(of_wheel.shaft.low));
}

TEST_CASE("published rates: members of planetary sets set sidebands at their own turns") {
  const auto mesh = [](const std::string& set) {
    return only_line(by_crank + makes("planetary = { " + set + " }"));
  };
  // 21/108 (ratio 6.14286 in the listing of the Ljubljana gear program): ring held, the carrier
  // turns 1/6.14286 = 0.16279 times a turn of the sun; sun held, 0.83721 times one of the ring;
  // carrier held, the ring turns 0.19444 times back.
  const ExpectedLine ring_held = mesh("sun = 21, ring = 108, held = \"ring\", turning = \"sun\"");
  CHECK(ring_held.at.low == doctest::Approx(17.5814).epsilon(1e-6));
  CHECK(1.0 / ring_held.other_shafts.front().low == doctest::Approx(6.14286).epsilon(1e-6));
  CHECK(turns(mesh("sun = 21, ring = 108, held = \"sun\", turning = \"ring\""), 108.0 / 129.0));
  CHECK(108.0 / 129.0 == doctest::Approx(0.83721).epsilon(1e-5));
  CHECK(turns(mesh("sun = 21, ring = 108, held = \"carrier\", turning = \"sun\""), 21.0 / 108.0));
  CHECK(21.0 / 108.0 == doctest::Approx(0.19444).epsilon(3e-5));
  // Shigley, Example 13-6 (from memory): sun 20 at 100 rpm, planets 30, ring 80 held: arm 20 rpm,
  // planet 33 1/3 rpm the other way, so 53 1/3 against its arm.
  const ExpectedLine shigley =
      mesh("sun = 20, ring = 80, planet = 30, held = \"ring\", turning = \"sun\"");
  CHECK(shigley.at.low == doctest::Approx(16.0));
  CHECK(turns(shigley, 0.20));
  CHECK(turns(shigley, (20.0 + 100.0 / 3.0) / 100.0));
  // A worked solution on a page, recomputed: sun 23 held, arm at 100 rpm, ring 55: 141.818 rpm.
  CHECK(turns(mesh("sun = 23, ring = 55, held = \"sun\", turning = \"carrier\""), 1.4181818));
}

TEST_CASE(
    "published rates: three planets pass a ring at rest three times a turn of their carrier") {
  // McFadden and Smith 1985: the lines about the mesh stand at multiples of the planets.
  for (const ExpectedLine& line :
       lines_of(by_crank +
                makes("planetary = { sun = 20, ring = 80, planets = 3, held = \"ring\", turning = "
                      "\"carrier\" }")))
    CHECK(turns(line, 3.0));
}

TEST_CASE("published rates: a machine's field turns once a pair of poles") {
  // f = P·n/120 (US Navy electrical training module; 60 Hz with 4 poles at 1800 rpm is printed
  // there, the others follow). A failed diode comes once a turn of the field.
  struct Machine {
    int poles;
    double rpm, hertz;
  };
  for (const auto& [poles, rpm, hertz] : {Machine{12, 4000.0, 400.0}, Machine{6, 500.0, 25.0},
                                          Machine{4, 1800.0, 60.0}, Machine{16, 6000.0, 800.0}}) {
    CAPTURE(poles);
    const ExpectedLine line =
        only_line(by_crank + makes("poles = " + std::to_string(poles) + ", pulses = 1"));
    CHECK(line.at.low * rpm / 60.0 == doctest::Approx(hertz));
    // Six pulses of a rectified three-phase current in that time.
    CHECK(only_line(by_crank + makes("poles = " + std::to_string(poles))).at.low ==
          doctest::Approx(6.0 * line.at.low));
  }
  // 16 poles at 2.8 times 2000 rpm: 48 · 5600 / 60 = 4480 Hz; 12 poles 3360 Hz, engine order 100.8.
  const std::string belt = "drive = \"belt\"\nratio = 2.8\nslip = 0\n";
  CHECK(only_line(belt + makes("poles = 16")).at.low * 2000.0 / 60.0 == doctest::Approx(4480.0));
  CHECK(only_line(belt + makes("poles = 12")).at.low == doctest::Approx(100.8));
}

TEST_CASE("published rates: the kinds of alternator sources hold the orders that were measured") {
  // Rotor orders: 36 with 12 poles, fans 8, 10 and 12 (J. Vibration, Measurement and Diagnosis 2018
  // no. 2, NUAA); 36 in three-phase and 72 in six-phase machines (a report of Missouri S&T); 18
  // from 6 notches past 18 openings (Frederick and Lauchle 1995).
  const std::string bare = "ratio = 1\nslip = 0\n";
  const auto ripple = expected_lines(test::source_of(bare, "alternator ripple"));
  for (const double order : {36.0, 48.0, 72.0}) CHECK(has_line_at(ripple, order));
  const auto fan = expected_lines(test::source_of(bare, "alternator fan"));
  for (const double order : {8.0, 10.0, 12.0, 18.0}) CHECK(has_line_at(fan, order));
  CHECK_FALSE(has_line_at(fan, 9.5));
}

TEST_CASE("published rates: pumps pulse once a chamber") {
  // A gerotor's outer rotor has one lobe more and turns Z/(Z+1) times.
  const ExpectedLine gerotor =
      only_line(by_crank + makes("what = \"lobes\", count = 9, gerotor = true"));
  CHECK(gerotor.at.low == 9.0);
  CHECK(turns(gerotor, 0.9));
  // Gear pumps (from memory): once a tooth, and strongly twice.
  CHECK(only_line(by_crank + makes("what = \"teeth\", count = 11, times = 2")).at.low == 22.0);
  // A steering pump usually has ten vanes (an article series on noise of pumps).
  const auto vanes = expected_lines(test::source_of("ratio = 1\nslip = 0", "steering pump vanes"));
  const auto likeliest = std::ranges::max_element(vanes, {}, &ExpectedLine::share);
  CHECK(likeliest->at == Interval{10.0, 10.0});
  CHECK(likeliest->share > 0.5);
  // An automatic's pump turns with the converter's hub: whole orders without slip (a maker's
  // self-study text); 7 to 13 lobes, from memory.
  const auto transmission = expected_lines(test::source_of("", "transmission pump"));
  for (double order = 7.0; order <= 13.0; ++order) CHECK(has_line_at(transmission, order));
  CHECK(std::ranges::all_of(transmission, &ExpectedLine::exact));
}

TEST_CASE("published rates: bearings at the speeds for which their rates are told") {
  struct Bearing {
    const char* geometry;
    double hertz, inner, outer, cage, element;
  };
  const std::vector<Bearing> bearings{
      // UER204, from its geometry at 35 Hz.
      {"elements = 8, ball = 7.92, pitch = 34.55", 35.0, 172.09, 107.91, 13.49, 2.0 * 72.33},
      // Worked out: 8 balls of 2 cm on 12 cm, 15 degrees, 25 Hz.
      {"elements = 8, ball = 2, pitch = 12, angle = 15", 25.0, 116.10, 83.90, 10.49, 2.0 * 73.06},
      // 8 balls of 0.235 in on 1.245 in (geometry from memory), 25 Hz: 118.875 and 81.125 printed.
      {"elements = 8, ball = 0.235, pitch = 1.245", 25.0, 118.875, 81.125, 10.141, 2.0 * 63.864},
      // Case Western Reserve University, drive end, at its motor's four speeds.
      {"elements = 9, ball = 0.3126, pitch = 1.537", 1797.0 / 60.0, 162.19, 107.36, 11.93, 141.17},
      {"elements = 9, ball = 0.3126, pitch = 1.537", 1772.0 / 60.0, 159.93, 105.87, 11.76, 139.21},
      {"elements = 9, ball = 0.3126, pitch = 1.537", 1750.0 / 60.0, 157.94, 104.56, 11.62, 137.48},
      {"elements = 9, ball = 0.3126, pitch = 1.537", 1730.0 / 60.0, 156.14, 103.36, 11.48, 135.91},
  };
  for (const Bearing& bearing : bearings) {
    CAPTURE(bearing.geometry);
    const auto lines =
        lines_of(by_crank + makes(std::string("bearing = { ") + bearing.geometry + " }"));
    REQUIRE(lines.size() == 4);
    const auto hertz = [&](const char* part) {
      const auto found = std::ranges::find_if(lines, [&](const ExpectedLine& line) {
        return line.what.find(part) != std::string::npos;
      });
      REQUIRE(found != lines.end());
      return middle(found->at) * bearing.hertz;
    };
    CHECK(hertz("inner race") == doctest::Approx(bearing.inner).epsilon(1e-3));
    CHECK(hertz("outer race") == doctest::Approx(bearing.outer).epsilon(1e-3));
    CHECK(hertz("cage") == doctest::Approx(bearing.cage).epsilon(1e-3));
    CHECK(hertz("an element") == doctest::Approx(bearing.element).epsilon(1e-3));
    // Elements pass one race or the other, and the outer one as often as the cage turns.
    const double elements = std::stod(std::string(bearing.geometry).substr(11));
    CHECK(hertz("inner race") + hertz("outer race") == doctest::Approx(elements * bearing.hertz));
    CHECK(hertz("outer race") == doctest::Approx(elements * hertz("cage")));
  }
}

TEST_CASE("published rates: an idler's kind holds a 6203 at ratio 2.2, and is never exact") {
  // A 6203 is typical (training slides on accessory drives): 3.0531·2.2 and 4.9469·2.2.
  const auto lines = expected_lines(test::source_of("ratio = 2.2\nslip = 0", "idler bearing"));
  for (const double order : {6.717, 10.883})
    CHECK(std::ranges::any_of(lines,
                              [&](const ExpectedLine& line) { return line.at.contains(order); }));
  CHECK(std::ranges::none_of(lines, &ExpectedLine::exact));
}

TEST_CASE("published rates: belts turn accessories as their makers say, in kinds and profiles") {
  // "Typical pulley ratio" of a slide deck on accessory drives (2008): fan 1.2 to 1.4, compressor
  // 1.25 to 1.6, steering pump 1.2, water pump 1.2 to 1.4; alternators 2 to 3 (a maker's guide).
  struct Typical {
    const char* kind;
    Interval ratio;
  };
  const std::vector<Typical> typical{
      {"alternator ripple", {2.0, 3.0}},   {"alternator bearing", {2.0, 3.0}},
      {"belt-driven fan", {1.2, 1.4}},     {"ac compressor pistons", {1.25, 1.6}},
      {"steering pump vanes", {1.2, 1.2}}, {"water pump bearing", {1.2, 1.4}}};
  const std::vector<Profile> profiles = list_profiles();
  for (const Typical& one : typical) {
    CAPTURE(one.kind);
    const auto kind = std::get<BeltTurning>(test::source_of("", one.kind).turning).ratio;
    CHECK(kind.low <= one.ratio.low);
    CHECK(kind.high >= one.ratio.high);
    for (const Profile& profile : profiles)
      for (const Source& source : profile.sources) {
        const auto* belt = std::get_if<BeltTurning>(&source.turning);
        if (source.kind != one.kind || belt == nullptr) continue;
        CAPTURE(profile.name);
        CHECK(belt->ratio.low <= one.ratio.high);
        CHECK(belt->ratio.high >= one.ratio.low);
      }
  }
}

TEST_CASE("published rates: what a belt makes itself") {
  // A maker's manual: rumble and chirp once a turn of the belt, squeal not locked to speed.
  const Source rumble =
      test::source_of("pulleys = { crank = 160, belt_length = 1850 }\nslip = 0", "belt rumble");
  REQUIRE(expected_lines(rumble).size() == 1);
  // The belt's turns: pi (160 + 2·2) / 1850, worked by hand (ISO 9981:2020, 5.4).
  CHECK(expected_lines(rumble).front().at.low == doctest::Approx(0.27850).epsilon(1e-4));
  CHECK(std::holds_alternative<FreeTurning>(test::source_of("", "belt squeal").turning));
  // Weak source (training texts): a belt creeps by 1 to 2 %, and above 3 % is at fault.
  for (const char* kind : {"alternator bearing", "idler bearing", "tensioner bearing"}) {
    CAPTURE(kind);
    const auto slip = std::get<BeltTurning>(test::source_of("", kind).turning).slip;
    CHECK(slip.contains(0.01));
    CHECK(slip.contains(0.02));
    CHECK_FALSE(slip.contains(0.031));
  }
}

TEST_CASE("published rates: a pinion's bearing turns with the propeller shaft") {
  // Makers' manuals: the wheel turns about a third as fast as the shaft. 41 on 11, 1.9273 m a turn.
  const Wheels wheels{.circumference = {1.9273, 1.9273}, .final_drive = {41.0 / 11.0, 41.0 / 11.0}};
  const auto shaft = [&](const char* kind) {
    return std::get<RoadTurning>(test::source_of("", kind, wheels).turning).turns_per_metre.low;
  };
  CHECK(shaft("final drive bearing") / shaft("wheel bearing") ==
        doctest::Approx(3.7273).epsilon(1e-5));
  CHECK(shaft("propeller shaft bearing") == doctest::Approx(shaft("final drive bearing")));
}
