#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "tests/src/reasoning/reasoning_scene.h"

// Pairs that a good technician confuses. The reasoning must not guess while they look alike, must
// name what tells them apart, and must then follow it. Which part does what is common practice;
// orders are worked out beside each.

using namespace howl;
using namespace howl::test;

namespace {

const std::array<double, 5> kLocked{1e-9, 0.6, 0.4, 0.0, 1e-6};

LoadChange change(const std::string& test, double db) {
  LoadChange result;
  result.test = test;
  result.change_db = db;
  result.low_db = db - 2.0;
  result.high_db = db + 2.0;
  return result;
}

bool offers(const Verdict& verdict, const std::string& id) {
  return std::ranges::any_of(verdict.next_tests, [&](const NextTest& t) { return t.id == id; });
}

/// Whether the test is offered, and said to tell these two apart.
bool separates(const Verdict& verdict, const std::string& id, const std::string& a,
               const std::string& b) {
  return std::ranges::any_of(verdict.next_tests, [&](const NextTest& t) {
    return t.id == id &&
           (t.why == "tells " + a + " from " + b || t.why == "tells " + b + " from " + a);
  });
}

/// Nothing is named while the two look alike.
void check_not_named(const Verdict& verdict) {
  CHECK(verdict.state == Inquiry::go_on);
  CHECK(verdict.conclusion.starts_with("Not settled."));
}

/// Nor does either stand out by its chance.
void check_no_guess(const Verdict& verdict) {
  check_not_named(verdict);
  REQUIRE_FALSE(verdict.suspects.empty());
  CHECK(verdict.suspects.front().probability < 0.8);
}

}  // namespace

TEST_CASE("hard pair: ten vanes at ratio 1.00 against a transmission pump of ten vanes") {
  Source pump = crank_source("transmission pump", 10.0);
  pump.makes.front().what = "vanes";
  pump.reacts = {{"steering", Reaction::same}};
  Source steering = belt_source("steering pump", {0.99, 1.01}, 10.0);
  steering.reacts = {{"steering", Reaction::louder}};
  const Profile profile = profile_of({pump, steering});
  // 10·1.00·(1 − slip of 0.2 to 2 %) = 9.7 to 10.08; the pump's is 10 exactly. An order known to
  // 0.6 % fits both.
  Analysis analysis = analysis_of(tone_at_order(9.96, 0.006, kLocked));
  const Verdict alike = judged(analysis, profile);
  check_no_guess(alike);
  CHECK(separates(alike, "load:steering", "steering pump", "transmission pump"));
  CHECK(separates(alike, "speed:tacho", "steering pump", "transmission pump"));

  analysis.load_changes = {change("steering", 7.0)};
  const Verdict loaded = judged(analysis, profile);
  CHECK(loaded.suspects.front().source == "steering pump");
  CHECK(!offers(loaded, "load:steering"));
  analysis.load_changes = {change("steering", 0.0)};
  CHECK(judged(analysis, profile).suspects.front().source == "transmission pump");

  // With a tacho the order itself tells: 9.90 is no whole number, 10.000 is.
  const double exact = 0.0005;
  CHECK(judged(analysis_of(tone_at_order(9.90, exact, kLocked)), profile).suspects.front().source ==
        "steering pump");
  CHECK(judged(analysis_of(tone_at_order(10.0, exact, kLocked)), profile).suspects.front().source ==
        "transmission pump");
}

TEST_CASE("hard pair: alternator bearing against idler bearing") {
  // Outer races of common bearings pass 3.05 to 3.6 balls a turn (6203: 3.0531, CWRU bearing data).
  // Alternator at 2.5 to 3.0: orders 7.5 to 10.8; idler at 2.2 to 2.6: 6.6 to 9.4. 8.4 fits both.
  Source alternator = bearing_source("alternator bearing", {2.5, 3.0}, {3.05, 3.6});
  alternator.below_db = {{"alternator bracket", 0.0}, {"idler bolt", 12.0}};
  Source idler = bearing_source("idler bearing", {2.2, 2.6}, {3.05, 3.6});
  idler.below_db = {{"alternator bracket", 12.0}, {"idler bolt", 0.0}};
  const Profile profile = profile_of({alternator, idler});
  Analysis analysis = analysis_of(tone_at_order(8.4, 0.004, {1e-9, 0.3, 0.7, 0.0, 1e-6}));
  // Heard at a point that both reach alike; where each enters was not recorded yet.
  analysis.ranking = {ranked("transmission pan", -50.0, 1.0)};
  const std::vector<std::string> points{"transmission pan", "alternator bracket", "idler bolt"};
  const Verdict alike = reason(analysis, {profile, {}, {}, points});
  check_no_guess(alike);
  for (const char* point : {"point:alternator bracket", "point:idler bolt"})
    CHECK(separates(alike, point, "alternator bearing", "idler bearing"));
  CHECK(std::abs(chance_of_suspect(alike, "alternator bearing") -
                 chance_of_suspect(alike, "idler bearing")) < 0.3);
  analysis.ranking = {ranked("idler bolt", -30.0, 0.97), ranked("alternator bracket", -41.0, 0.03)};
  CHECK(judged(analysis, profile).suspects.front().source == "idler bearing");
  analysis.ranking = {ranked("alternator bracket", -30.0, 0.97), ranked("idler bolt", -41.0, 0.03)};
  CHECK(judged(analysis, profile).suspects.front().source == "alternator bearing");
  // 10.5 is beyond what the idler can make: 2.6·3.6 = 9.36.
  CHECK(judged(analysis_of(tone_at_order(10.5, 0.004, {1e-9, 0.3, 0.7, 0.0, 1e-6})), profile)
            .suspects.front()
            .source == "alternator bearing");
}

TEST_CASE("hard pair: gear whine against wheel bearing") {
  // Gear mesh of a gearbox follows the engine; a wheel bearing follows the road. In one gear both
  // are in step, and only standing in neutral or another gear parts them. Nobody knows the rates of
  // this wheel's bearing.
  Source gear = crank_source("gearbox gears", 23.0);
  gear.makes = {{.what = "teeth", .per_turn = {15.0, 35.0}, .whole_numbers = true}};
  gear.reacts = {{"standing", Reaction::same}};
  Source wheel;
  wheel.name = wheel.component = "wheel bearing";
  wheel.turning = RoadTurning{{0.49, 0.53}};
  wheel.reacts = {{"standing", Reaction::stops}};
  const Profile profile = profile_of({gear, wheel});
  // 690 Hz at 1800 rpm is order 23, at 70 km/h 690/19.44 = 35.5 cycles a metre; both laws fit what
  // was driven in one gear. Speeds were read from dials, to 2 %, so that orders 22 to 24 fit.
  ToneResult tone = tone_at_order(23.0, 0.02, {1e-9, 0.3, 0.2, 0.5, 1e-6});
  tone.behaviour = Behaviour::undetermined;
  tone.order.reset();
  tone.order_ci95.reset();
  tone.heard_standing = false;
  tone.track = {{1.0, 1800.0, 690.0, 0.1, "t01", -30.0}};
  tone.cycles_per_metre_if_locked = LogEstimate{35.5, 0.02};
  Analysis analysis = analysis_of(tone);
  const Verdict alike = judged(analysis, profile);
  check_no_guess(alike);
  CHECK(separates(alike, "load:standing", "gearbox gears", "wheel bearing"));
  // Followed over a sweep of one gear, it is locked to engine or road.
  ToneResult one_gear = tone_at_order(23.0, 0.02, {1e-9, 0.3, 0.2, 0.5, 1e-6});
  one_gear.drive = Drive::engine_or_road;
  one_gear.heard_standing = false;
  one_gear.cycles_per_metre_if_locked = LogEstimate{35.5, 0.02};
  const Verdict in_step = judged(analysis_of(one_gear), profile);
  check_no_guess(in_step);
  CHECK(in_step.conclusion.ends_with("follows the engine or the road is not known yet."));
  CHECK(separates(in_step, "speed:gear", "gearbox gears", "wheel bearing"));
  CHECK_FALSE(offers(in_step, "speed:sweep"));
  // Another gear tells, or the test itself, either way.
  const auto after = [&](LoadChange effect) {
    Analysis tested = analysis;
    tested.load_changes = {std::move(effect)};
    return judged(tested, profile).suspects.front().source;
  };
  CHECK(after(change("standing", 0.0)) == "gearbox gears");
  CHECK(after(change("standing", -30.0)) == "wheel bearing");
  analysis.tones.front().laws = {{"road", 0.98, 1500.0, 0.0, 0.0},
                                 {"locked", 0.01, 1500.0, 0.0, 1.0},
                                 {"belt", 0.01, 1500.0, 0.0, 1.0}};
  analysis.tones.front().behaviour = Behaviour::road_locked;
  CHECK(judged(analysis, profile).suspects.front().source == "wheel bearing");
  // Heard while the vehicle stands, it is no wheel.
  ToneResult standing = tone_at_order(23.0, 0.004, kLocked);
  CHECK(judged(analysis_of(standing), profile).suspects.front().source == "gearbox gears");
}

TEST_CASE("hard pair: resonance against pump") {
  Source resonance;
  resonance.name = resonance.component = "bracket resonance";
  resonance.turning = Ringing{};
  const Profile profile = profile_of({crank_source("transmission pump", 10.0), resonance});
  // One hold: 300 Hz at 1800 rpm is order 10, and may be a resonance that happens to lie there.
  ToneResult once = tone_in_one_hold(10.0, 0.006, 1800.0);
  once.frequency_hz = {299.0, 301.0};
  const Verdict alike = judged(analysis_of(once), profile);
  // That it lies on the pump's own order is a hint, not a proof: its pitch may stand still.
  check_not_named(alike);
  CHECK(alike.conclusion.ends_with("what its pitch follows is not known yet."));
  CHECK(separates(alike, "speed:sweep", "transmission pump", "bracket resonance"));
  // Over a sweep each shows its law.
  ToneResult fixed = once;
  fixed.behaviour = Behaviour::fixed_pitch;
  fixed.rpm_span = {900.0, 2700.0};
  fixed.laws = {{"fixed", 0.99, 1500.0, 300.0, 0.0},
                {"free", 0.01, 1500.0, 300.0, 0.0},
                {"locked", 1e-9, 1500.0, 300.0, 1.0},
                {"belt", 1e-9, 1500.0, 300.0, 1.0}};
  CHECK(judged(analysis_of(fixed), profile).suspects.front().source == "bracket resonance");
  CHECK(judged(analysis_of(tone_at_order(10.0, 0.002, kLocked)), profile).suspects.front().source ==
        "transmission pump");
}
