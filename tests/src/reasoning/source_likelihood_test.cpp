#include "src/reasoning/source_likelihood.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "tests/src/reasoning/reasoning_scene.h"

using namespace howl;
using namespace howl::test;

namespace {

double slip_ratio(const Source& source, double shift) {
  Howl howl;
  LoadChange effect;
  effect.test = "steering";
  effect.order_ratio = LogEstimate{1.0 + shift, 0.002};
  howl.loads = {effect};
  const auto items = explain(howl, source);
  const auto item = std::ranges::find(items, "slip:steering", &Explained::id);
  REQUIRE(item != items.end());
  return item->log_ratio;
}

}  // namespace

TEST_CASE("slip: an order that stays or falls a little tells a belt's load from the crankshaft's") {
  Source pump = crank_source("transmission pump", 10.0);
  Source steering = belt_source("steering pump", {0.99, 1.01}, 10.0);
  steering.reacts = {{"steering", Reaction::louder}};
  // A loaded V-belt slips by some tenths of a per cent more (common practice).
  CHECK(slip_ratio(steering, -0.006) > 0.5);
  CHECK(slip_ratio(pump, -0.006) < -1.0);
  CHECK(slip_ratio(pump, 0.0) > slip_ratio(steering, 0.0));
  Source free;
  free.name = free.component = "wheel bearing";
  free.turning = RoadTurning{{0.49, 0.53}};
  CHECK(slip_ratio(free, -0.006) == 0.0);
}

TEST_CASE("slip: a jump that no belt makes is somebody's mistake, and says nothing of sources") {
  Source pump = crank_source("transmission pump", 10.0);
  Source steering = belt_source("steering pump", {0.99, 1.01}, 10.0);
  steering.reacts = {{"steering", Reaction::louder}};
  for (const double shift : {-0.9, -0.25, -0.05, 0.04, 0.1, 0.25, 3.0, 1e6}) {
    CAPTURE(shift);
    for (const Source& source : {pump, steering}) CHECK(std::abs(slip_ratio(source, shift)) < 0.01);
  }
}

TEST_CASE("A tone at twice the howl's pitch leaves open whether it is its second harmonic") {
  const ToneResult howl = tone_in_one_hold(11.0, 0.003, 1800.0);  // 330 Hz
  Analysis analysis = analysis_of(howl);
  REQUIRE(observed_howl(analysis));
  CHECK(observed_howl(analysis)->second_harmonic == false);
  ToneResult other = howl;
  other.id = "tone2";
  other.frequency_hz = {660.1, 660.1};
  other.prominent = false;
  analysis.tones.push_back(other);
  CHECK(observed_howl(analysis)->second_harmonic == std::nullopt);
  analysis.tones.back().frequency_hz = {680.0, 680.0};
  CHECK(observed_howl(analysis)->second_harmonic == false);
}

namespace {

ToneResult swept_at(const char* id, double order, double level_db) {
  ToneResult tone = tone_at_order(order, 0.002, {0.0, 0.7, 0.3, 0.0, 0.0});
  tone.id = id;
  tone.level_db = level_db;
  tone.track = {{1.0, 900.0, order * 15.0, 0.02, "t01", level_db},
                {9.0, 2700.0, order * 45.0, 0.02, "t01", level_db}};
  return tone;
}

double order_ratio_of(const Analysis& analysis, double lobes) {
  for (const Explained& item : explain(*observed_howl(analysis), crank_source("pump", lobes)))
    if (item.id == "order") return item.log_ratio;
  return 0.0;
}

}  // namespace

TEST_CASE("a howl at twice another tone's pitch is judged by that tone's order") {
  Analysis analysis = analysis_of(swept_at("tone1", 14.0, -20.0));
  CHECK(observed_howl(analysis)->harmonic == 1);
  CHECK(order_ratio_of(analysis, 14.0) > order_ratio_of(analysis, 7.0) + 2.0);
  analysis.tones.push_back(swept_at("tone2", 7.0, -32.0));
  CHECK(observed_howl(analysis)->harmonic == 2);
  CHECK(observed_howl(analysis)->order->value == doctest::Approx(7.0));
  CHECK(observed_howl(analysis)->second_harmonic == true);
  CHECK(order_ratio_of(analysis, 7.0) > order_ratio_of(analysis, 14.0) + 2.0);
}

TEST_CASE("what only lies near half of a howl, or behaves otherwise, is not its base") {
  const ToneResult half = swept_at("tone2", 7.0, -32.0);
  ToneResult fixed = half;
  fixed.behaviour = Behaviour::fixed_pitch;
  ToneResult firing = half;
  firing.maybe_combustion = true;
  ToneResult elsewhere = half;
  for (TrackPoint& point : elsewhere.track) point.take = "t02";
  for (const ToneResult& tone : {fixed, firing, elsewhere, swept_at("tone2", 7.1, -32.0)}) {
    Analysis analysis = analysis_of(swept_at("tone1", 14.0, -20.0));
    analysis.tones.push_back(tone);
    CHECK(observed_howl(analysis)->harmonic == 1);
  }
}

TEST_CASE("a multiple that behaves alike in two takes is heard, though no family is proven") {
  const auto on_the_road = [](const char* id, double times) {
    ToneResult tone = tone_at_order(2.75, 0.01, {0.0, 0.1, 0.0, 0.9, 0.0});
    tone.id = id;
    tone.behaviour = Behaviour::road_locked;
    tone.order.reset();
    tone.order_ci95.reset();
    tone.frequency_hz = {times * 70.0, times * 140.0};
    tone.track = {{2.5, 1500.0, times * 70.0, 0.02, "t01", -30.0},
                  {2.5, 2600.0, times * 140.0, 0.02, "t02", -30.0}};
    return tone;
  };
  Analysis analysis = analysis_of(on_the_road("tone1", 1.0));
  CHECK(observed_howl(analysis)->second_harmonic == false);
  analysis.tones.push_back(on_the_road("tone2", 3.0));
  CHECK(observed_howl(analysis)->second_harmonic == true);
  analysis.tones.back().behaviour = Behaviour::speed_locked;
  CHECK(observed_howl(analysis)->second_harmonic == false);
  analysis.tones.back() = on_the_road("tone2", 2.9);
  CHECK(observed_howl(analysis)->second_harmonic == false);
}

TEST_CASE("where: a source that would be loudest there too, but with other levels, is told so") {
  Howl howl;
  howl.points = {{.point = "pan", .loudest = 0.99, .level_db = -30.0, .sigma_db = 1.0},
                 {.point = "pump", .loudest = 0.01, .level_db = -52.0, .sigma_db = 1.0}};
  const auto where = [&](double pump_below_db) {
    Source source = crank_source("transmission pump", 10.0);
    source.below_db = {{"pan", 0.0}, {"pump", pump_below_db}};
    const auto items = explain(howl, source);
    return *std::ranges::find(items, "where", &Explained::id);
  };
  CHECK(where(20.0).log_ratio > 0.0);
  CHECK(where(20.0).text == "loudest at pan (99 %); this would most likely be loudest at pan");
  CHECK(where(1.0).log_ratio < 0.0);
  CHECK(where(1.0).text ==
        "loudest at pan (99 %); this would be loudest there too, but the levels fit others better");
}
