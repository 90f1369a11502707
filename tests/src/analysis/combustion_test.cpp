#include "src/analysis/combustion.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

using namespace howl;

namespace {

ToneResult tone_at(double order, double level_db, bool prominent = false) {
  ToneResult tone;
  tone.behaviour = Behaviour::speed_locked;
  tone.order = order;
  tone.order_ci95 = Interval{order * 0.999, order * 1.001};
  tone.typical_level_db = tone.level_db = level_db;
  tone.prominent = prominent;
  return tone;
}

/// Firing orders of four cylinders that fall by 9 dB an octave from −20 dB, give or take `uneven`.
std::vector<ToneResult> four_cylinders(double uneven_db = 0.0) {
  std::vector<ToneResult> tones;
  double sign = 1.0;
  for (const double order : {2.0, 4.0, 6.0, 8.0, 12.0, 14.0}) {
    tones.push_back(tone_at(order, -20.0 - 9.0 * std::log2(order / 2.0) + sign * uneven_db));
    sign = -sign;
  }
  return tones;
}

bool marked(const std::vector<ToneResult>& tones, double order) {
  return std::any_of(tones.begin(), tones.end(), [&](const ToneResult& t) {
    return std::abs(*t.order - order) < 0.01 && t.combustion;
  });
}

}  // namespace

TEST_CASE("Firing orders that fall smoothly are the engine's own") {
  std::vector<ToneResult> tones = four_cylinders(1.5);
  mark_combustion(tones, 4);
  for (const ToneResult& t : tones) {
    CAPTURE(*t.order);
    CHECK(t.combustion);
  }
}

namespace {

/// A speed entered as a ramp, 1.6 % too low, makes every order 1.6 % too high, give or take as
/// much.
std::vector<ToneResult> by_a_wrong_ramp(std::vector<ToneResult> tones) {
  for (ToneResult& tone : tones) {
    const double hertz = *tone.order * 25.0;
    tone.track = {{1.0, 1500.0, hertz, 0.001 * hertz, "t01", tone.level_db},
                  {5.0, 1500.0, 2.0 * hertz, 0.002 * hertz, "t01", tone.level_db}};
    *tone.order *= 1.016;
    tone.order_ci95 = Interval{*tone.order * 0.984, *tone.order * 1.016};
  }
  return tones;
}

}  // namespace

TEST_CASE("High firing orders are known by the low ones where the speed does not tell") {
  std::vector<ToneResult> tones = four_cylinders();
  const auto fall = [](double order) { return -20.0 - 9.0 * std::log2(order / 2.0); };
  for (const double order : {26.0, 30.0}) tones.push_back(tone_at(order, fall(order), true));
  tones.push_back(tone_at(29.6, fall(29.6), true));         // a belt's
  tones.push_back(tone_at(28.0, fall(28.0) + 15.0, true));  // a pump's
  tones = by_a_wrong_ramp(std::move(tones));
  mark_combustion(tones, 4);
  for (const double order : {2.0, 4.0, 26.0, 30.0}) CHECK(marked(tones, 1.016 * order));
  CHECK(!marked(tones, 1.016 * 29.6));
  CHECK(!marked(tones, 1.016 * 28.0));
}

TEST_CASE("A pump at a multiple of the firing order stays a howl when it stands out") {
  // Order 10, where the fall leaves −40.9 dB.
  for (const double above : {12.0, 9.0}) {
    std::vector<ToneResult> tones = four_cylinders();
    tones.push_back(tone_at(10.0, -40.9 + above, true));
    mark_combustion(tones, 4);
    CAPTURE(above);
    CHECK(!marked(tones, 10.0));
    CHECK(marked(tones, 8.0));
    CHECK(marked(tones, 12.0));
  }
  std::vector<ToneResult> tones = four_cylinders();
  tones.push_back(tone_at(10.0, -38.0));
  mark_combustion(tones, 4);
  CHECK(marked(tones, 10.0));
}

TEST_CASE("Several pump harmonics at firing multiples do not pull the fall up to themselves") {
  std::vector<ToneResult> tones = four_cylinders();
  tones.push_back(tone_at(10.0, -22.0, true));
  tones.push_back(tone_at(20.0, -28.0, true));
  mark_combustion(tones, 4);
  CHECK(!marked(tones, 10.0));
  CHECK(!marked(tones, 20.0));
  for (const double order : {2.0, 4.0, 6.0, 8.0, 12.0, 14.0}) CHECK(marked(tones, order));
}

TEST_CASE("Where firing orders scatter, more is needed to stand out") {
  const auto outstanding = [](double uneven) {
    std::vector<ToneResult> tones = four_cylinders(uneven);
    tones.push_back(tone_at(10.0, -40.9 + 11.0, true));
    mark_combustion(tones, 4);
    return !marked(tones, 10.0);
  };
  CHECK(outstanding(0.0));
  CHECK(!outstanding(6.0));
}

TEST_CASE("Half orders of uneven cylinders are the engine's own; a prominent order never is") {
  std::vector<ToneResult> tones = four_cylinders();
  for (const double order : {2.5, 3.0, 3.5, 4.5, 5.0, 5.5})
    tones.push_back(tone_at(order, -48.0 - 9.0 * std::log2(order / 2.0)));
  tones.push_back(tone_at(11.0, -34.0, true));  // a pump
  mark_combustion(tones, 4);
  CHECK(marked(tones, 3.0));
  CHECK(marked(tones, 4.5));
  CHECK(!marked(tones, 11.0));
}

TEST_CASE("With few firing orders only the low ones are taken for the engine's") {
  std::vector<ToneResult> tones{tone_at(2.0, -20.0), tone_at(4.0, -29.0), tone_at(10.0, -25.0)};
  mark_combustion(tones, 4);
  CHECK(marked(tones, 2.0));
  CHECK(marked(tones, 4.0));
  CHECK(!marked(tones, 10.0));
}

TEST_CASE("Without the number of cylinders: half orders up to six; belts never") {
  ToneResult belt = tone_at(4.0, -30.0);
  belt.drive = Drive::belt;
  std::vector<ToneResult> tones{tone_at(2.5, -20.0), tone_at(7.0, -30.0), belt};
  mark_combustion(tones, std::nullopt);
  CHECK(tones[0].combustion);
  CHECK(!tones[1].combustion);
  CHECK(!tones[2].combustion);
}

namespace {

/// Heard at one speed, which was read to `log_sigma`: its order is known only if it follows.
ToneResult hold_tone_at(double order, double level_db, double log_sigma = 0.005) {
  ToneResult tone;
  tone.order_if_locked = LogEstimate{order, log_sigma};
  tone.typical_level_db = tone.level_db = level_db;
  return tone;
}

const ToneResult& near(const std::vector<ToneResult>& tones, double order) {
  return *std::ranges::find_if(tones, [&](const ToneResult& t) {
    return t.order_if_locked && std::abs(t.order_if_locked->value - order) < 0.01;
  });
}

}  // namespace

TEST_CASE("At one speed, firing orders may be combustion; what lies between them may not") {
  std::vector<ToneResult> tones;
  for (const double order : {2.01, 4.02, 5.0, 6.03, 8.04, 10.05})
    tones.push_back(hold_tone_at(order, -20.0 - 9.0 * std::log2(order / 2.0)));
  mark_combustion(tones, 4);
  for (const double firing : {2.01, 4.02, 6.03, 8.04}) {
    CAPTURE(firing);
    CHECK(near(tones, firing).maybe_combustion);
    CHECK_FALSE(near(tones, firing).combustion);
  }
  CHECK_FALSE(near(tones, 5.0).maybe_combustion);
  // Beyond twice the number of cylinders the error of the speed covers much of the grid.
  CHECK_FALSE(near(tones, 10.05).maybe_combustion);
}

TEST_CASE("At one speed, a tone at a firing order that stands out stays a howl") {
  // Order 8, where the fall leaves −38 dB.
  std::vector<ToneResult> tones;
  for (const double order : {2.0, 4.0, 6.0})
    tones.push_back(hold_tone_at(order, -20.0 - 9.0 * std::log2(order / 2.0)));
  tones.push_back(hold_tone_at(8.0, -38.0 + 20.0));
  mark_combustion(tones, 4);
  CHECK_FALSE(near(tones, 8.0).maybe_combustion);
  CHECK(near(tones, 4.0).maybe_combustion);
}

TEST_CASE("At one speed, the firing orders that sweeps settled judge the others") {
  std::vector<ToneResult> tones = four_cylinders(1.0);
  tones.push_back(hold_tone_at(8.02, -39.0));
  tones.push_back(hold_tone_at(8.0, -15.0));
  mark_combustion(tones, 4);
  CHECK(near(tones, 8.02).maybe_combustion);
  CHECK_FALSE(near(tones, 8.0).maybe_combustion);
}

TEST_CASE("Without the number of cylinders nothing at one speed is put down to combustion") {
  std::vector<ToneResult> tones{hold_tone_at(2.0, -20.0), hold_tone_at(4.0, -30.0)};
  mark_combustion(tones, std::nullopt);
  for (const ToneResult& t : tones) CHECK_FALSE(t.maybe_combustion);
}

TEST_CASE("A speed that is hardly known puts nothing down to combustion") {
  // ±5 % of order 8 covers more than the step of two orders allows.
  std::vector<ToneResult> tones{hold_tone_at(8.0, -30.0, 0.06)};
  mark_combustion(tones, 4);
  CHECK_FALSE(tones.front().maybe_combustion);
}

TEST_CASE(
    "A prominent half order that is one of a row may be the engine's; out of the row it is not") {
  const auto with_row = [](double order, double above_db) {
    std::vector<ToneResult> tones = four_cylinders();
    for (const double half : {2.5, 3.5, 4.5, 6.5, 7.5})
      tones.push_back(tone_at(half, -38.0 - 9.0 * std::log2(half / 2.0)));
    tones.push_back(tone_at(order, -38.0 - 9.0 * std::log2(order / 2.0) + above_db, true));
    mark_combustion(tones, 4);
    return tones.back();
  };
  CHECK(with_row(5.5, 2.0).maybe_combustion);
  CHECK_FALSE(with_row(5.5, 2.0).combustion);
  CHECK_FALSE(with_row(5.5, 20.0).maybe_combustion);
  CHECK_FALSE(with_row(5.0, 2.0).maybe_combustion);  // a crankshaft may drive five lobes
  std::vector<ToneResult> without_row = four_cylinders();
  without_row.push_back(tone_at(5.5, -48.0, true));
  mark_combustion(without_row, 4);
  CHECK_FALSE(without_row.back().maybe_combustion);
}

namespace {

/// Order 12 louder by `above_db` in so many of the three takes that are held at 1500 rpm; another
/// hold and a sweep, in which it is as the others.
ToneResult twelfth_order(double above_db, int in_takes, bool prominent = true,
                         std::vector<ToneResult> others = {}) {
  std::vector<ToneResult> tones = four_cylinders(1.0);
  for (ToneResult& tone : tones) {
    const double order = *tone.order;
    const auto heard = [&](const char* take, double rpm, double db) {
      tone.track.push_back({1.0, rpm, order * rpm / 60.0, 0.1, take, tone.level_db + db});
    };
    int take = 0;
    for (const char* held : {"t01", "t02", "t03"})
      heard(held, 1500.0, order == 12.0 && take++ < in_takes ? above_db : 0.0);
    heard("t04", 2300.0, 0.0);
    for (const double rpm : {900.0, 1500.0, 2800.0}) heard("t05", rpm, 0.0);
  }
  tones.insert(tones.begin(), others.begin(), others.end());
  const auto twelfth = std::ranges::find(tones, 12.0, &ToneResult::order);
  twelfth->prominent = prominent;
  mark_combustion(tones, 4);
  return *twelfth;
}

}  // namespace

// Common practice: a part that resonates booms or howls at certain engine speeds, where one of the
// engine's orders comes by its natural frequency.
TEST_CASE("A firing order that is far louder at the speed of some holds is what howls there") {
  const ToneResult howl = twelfth_order(25.0, 3);
  CHECK_FALSE(howl.combustion);
  REQUIRE(howl.swells_at_hz);
  CHECK(*howl.swells_at_hz == doctest::Approx(300.0));
  CHECK(howl.advice.find("1500 rpm") != std::string::npos);
  CHECK(twelfth_order(25.0, 2).swells_at_hz);
}

TEST_CASE("A firing order that is louder in few takes, by little, or not prominent stays firing") {
  for (const ToneResult& tone :
       {twelfth_order(25.0, 1), twelfth_order(6.0, 3), twelfth_order(25.0, 3, false)}) {
    CHECK(tone.combustion);
    CHECK_FALSE(tone.swells_at_hz);
    CHECK(tone.advice.empty());
  }
}

TEST_CASE("Where a prominent tone of steady pitch lies, that is what rings, not the orders there") {
  ToneResult ringing = tone_at(12.0, -20.0, true);
  ringing.behaviour = Behaviour::fixed_pitch;
  ringing.order.reset();
  ringing.frequency_hz = {297.0, 304.0};
  CHECK(twelfth_order(25.0, 3, true, {ringing}).combustion);
  ringing.frequency_hz = {397.0, 404.0};
  CHECK(twelfth_order(25.0, 3, true, {ringing}).swells_at_hz);
}
