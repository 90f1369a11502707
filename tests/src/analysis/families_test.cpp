#include "src/analysis/families.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "src/analysis/suspect_band.h"

using namespace howl;

namespace {

TakeAudio hold(const std::string& id, double rpm) {
  TakeAudio take;
  take.id = id;
  take.sample_rate = 8000.0;
  take.seconds = 4.0;
  take.speed = SpeedCurve::constant(Rpm(rpm), 0.003);
  return take;
}

/// Three holds whose speeds were written down 0.4 % too high, right, and 0.3 % too low.
struct Bench {
  std::vector<TakeAudio> takes{hold("t01", 1000.0), hold("t02", 1500.0), hold("t03", 2200.0)};
  std::vector<double> truth{0.996, 1.0, 1.003};
  std::vector<ToneResult> tones;

  double hertz(double order, std::size_t take) const {
    return order * truth[take] * takes[take].speed.at(Seconds(0.0)).value / 60.0;
  }

  ToneResult& add(double level_db) {
    ToneResult tone;
    tone.id = fmt::format("tone{}", tones.size() + 1);
    tone.level_db = tone.typical_level_db = level_db;
    tones.push_back(tone);
    return tones.back();
  }

  void seen(ToneResult& tone, std::size_t take, double hertz) const {
    const double rpm = takes[take].speed.at(Seconds(0.0)).value;
    tone.track.push_back({2.0, rpm, hertz, 0.02, takes[take].id, tone.level_db});
    tone.takes.push_back(takes[take].id);
  }

  ToneResult& locked(double order, double level_db) {
    ToneResult& tone = add(level_db);
    tone.behaviour = Behaviour::speed_locked;
    tone.order = order;
    tone.order_ci95 = Interval{0.998 * order, 1.002 * order};
    for (std::size_t t = 0; t < takes.size(); ++t) seen(tone, t, hertz(order, t));
    return tone;
  }

  ToneResult& undetermined(double hertz, double level_db, std::size_t take) {
    ToneResult& tone = add(level_db);
    tone.advice = "record more";
    seen(tone, take, hertz);
    return tone;
  }
};

}  // namespace

TEST_CASE("Harmonics and sidebands of a belt-driven bearing become one family") {
  Bench bench;
  const double base = 13.69;
  const double turn = 2.768;
  bench.locked(base, -30.0);
  bench.locked(2.0 * base, -34.0);
  bench.locked(3.0 * base, -38.0);
  for (const double k : {1.0, 2.0, 3.0}) {
    bench.locked(k * base - turn, -44.0 - 4.0 * k);
    bench.locked(k * base + turn, -44.0 - 4.0 * k);
  }
  bench.locked(33.1, -50.0);
  const auto families = collect_families(bench.tones, bench.takes);
  REQUIRE(families.size() == 1);
  const FamilyResult& family = families[0];
  CHECK(family.id == "A");
  CHECK(family.unit == FamilyResult::Unit::order);
  CHECK(family.members.size() == 9);
  CHECK(family.base_ci95->contains(base));
  CHECK(family.spacing_ci95->contains(turn));
  // Sidebands at −18 dB: twice 0.126.
  CHECK(*family.modulation_depth == doctest::Approx(0.252).epsilon(0.01));
  CHECK(family.modulation_depth_ci95->contains(0.252));
  CHECK(family.false_alarm < 0.01);
  CHECK(bench.tones[0].family == "A");
  CHECK(!bench.tones[0].sideband);
  REQUIRE(bench.tones[3].sideband);
  CHECK(bench.tones[3].sideband->carrier == "tone1");
  CHECK(bench.tones[3].sideband->number == -1);
  CHECK(!bench.tones.back().family);
}

TEST_CASE("A family is no surer of its base than the speed is") {
  Bench bench;
  for (const double k : {1.0, 2.0, 3.0, 4.0}) bench.locked(k * 9.31, -30.0 - 4.0 * k);
  const auto families = collect_families(bench.tones, bench.takes);
  REQUIRE(families.size() == 1);
  CHECK(families[0].base_ci95->width() >= 0.0039 * 9.31);
}

TEST_CASE("A multiple heard in one hold shares the lock of its family; a stranger does not") {
  Bench bench;
  bench.locked(9.31, -30.0);
  for (const double k : {2.0, 3.0, 4.0, 5.0})
    bench.undetermined(bench.hertz(k * 9.31, 1), -40.0 - k, 1);
  bench.undetermined(1234.5, -50.0, 1);
  const auto families = collect_families(bench.tones, bench.takes);
  REQUIRE(families.size() == 1);
  CHECK(families[0].take == "t02");
  CHECK(bench.tones[2].behaviour == Behaviour::speed_locked);
  CHECK(bench.tones[2].order == doctest::Approx(27.93));
  CHECK(bench.tones[2].advice.empty());
  CHECK(bench.tones.back().behaviour == Behaviour::undetermined);
  CHECK(!bench.tones.back().family);
}

TEST_CASE("Tones of one hold without a settled one are a family, and stay undetermined") {
  Bench bench;
  for (const double k : {1.0, 2.0, 3.0, 4.0}) bench.undetermined(217.3 * k, -40.0 - k, 0);
  bench.undetermined(971.0, -50.0, 0);
  const auto families = collect_families(bench.tones, bench.takes);
  REQUIRE(families.size() == 1);
  CHECK(families[0].unit == FamilyResult::Unit::hertz);
  CHECK(families[0].base == doctest::Approx(217.3));
  for (const ToneResult& t : bench.tones) CHECK(t.behaviour == Behaviour::undetermined);
}

TEST_CASE("Higher firing orders of a hold that cannot settle them are recognised as the engine's") {
  Bench bench;
  for (const double k : {1.0, 2.0}) {
    ToneResult& t = bench.locked(3.0 * k, -20.0 - 9.0 * k);
    t.combustion = true;
  }
  for (const double k : {3.0, 4.0, 5.0, 6.0})
    bench.undetermined(bench.hertz(3.0 * k, 2), -40.0 - k, 2);
  const auto families = collect_families(bench.tones, bench.takes);
  CHECK(families.empty());
  for (const ToneResult& t : bench.tones) {
    CHECK(t.combustion);
    CHECK(t.family == "firing");
  }
}

TEST_CASE("A howl at a whole order is no sideband of the engine's orders in one hold") {
  // What a four-cylinder engine and a howl at order 11 showed at 1800 rpm: Hz and dB. The howl may
  // be louder in another take than in the one that shows the family.
  for (const double here_db : {-29.4, -36.0, -45.0}) {
    CAPTURE(here_db);
    Bench bench;
    bench.takes = {hold("t01", 1800.0)};
    ToneResult& loud = bench.undetermined(329.976, -29.4, 0);
    loud.track.front().level_db = here_db;
    const std::string howl = loud.id;
    for (const auto& [hertz, db] : std::vector<std::pair<double, double>>{
             {659.856, -37.5}, {299.946, -32.3}, {419.920, -36.1}, {539.897, -39.0},
             {359.935, -37.4}, {479.912, -37.4}, {989.757, -44.1}, {599.888, -40.2},
             {284.967, -41.8}, {449.968, -46.7}, {389.926, -46.8}, {269.968, -44.6},
             {509.912, -48.7}, {554.910, -50.1}, {404.905, -48.4}, {344.905, -48.5},
             {179.969, -27.8}, {194.951, -47.5}, {209.968, -47.5}, {164.974, -39.3},
             {119.983, -26.2}, {89.994, -47.7},  {149.974, -46.2}, {134.988, -44.4},
             {104.977, -40.6}, {239.963, -32.7}, {224.995, -43.3}, {59.992, -26.5},
             {74.979, -41.6},  {44.988, -40.0}})
      bench.undetermined(hertz, db, 0);
    collect_families(bench.tones, bench.takes);
    const auto found = std::ranges::find(bench.tones, howl, &ToneResult::id);
    REQUIRE(found != bench.tones.end());
    CHECK_FALSE(found->sideband);
  }
}

TEST_CASE("Hum is a family in Hz") {
  Bench bench;
  for (const double k : {1.0, 2.0, 3.0, 4.0}) {
    ToneResult& tone = bench.add(-50.0 - k);
    tone.behaviour = Behaviour::fixed_pitch;
    for (std::size_t t = 0; t < 3; ++t) bench.seen(tone, t, 50.0 * k);
  }
  const auto families = collect_families(bench.tones, bench.takes);
  REQUIRE(families.size() == 1);
  CHECK(families[0].unit == FamilyResult::Unit::hertz);
  CHECK(families[0].base_ci95->contains(50.0));
}

TEST_CASE("The suspect band lies on the carrier, even where a sideband comes first") {
  ToneResult sideband;
  sideband.id = "tone1";
  sideband.behaviour = Behaviour::speed_locked;
  sideband.order = 12.0;
  sideband.order_ci95 = Interval{11.99, 12.01};
  sideband.sideband = SidebandPart{"tone2", 1};
  ToneResult carrier = sideband;
  carrier.id = "tone2";
  carrier.sideband.reset();
  carrier.order = 11.0;
  carrier.order_ci95 = Interval{10.99, 11.01};
  const auto proposal = propose_band({sideband, carrier});
  REQUIRE(proposal);
  CHECK(proposal->band.band.range.contains(11.0));
  CHECK(!proposal->band.band.range.contains(12.0));
}
