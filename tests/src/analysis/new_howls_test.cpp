#include "src/analysis/new_howls.h"

#include <doctest/doctest.h>

#include "tests/src/analysis/compared_points.h"

using namespace howl;

namespace {

ToneResult locked_tone(const std::string& id, double order) {
  ToneResult tone;
  tone.id = id;
  tone.order = order;
  tone.behaviour = Behaviour::speed_locked;
  for (const double time : {1.0, 2.0, 3.0})
    tone.track.push_back({time, 1800.0, 30.0 * order, 0.1, "t01", -40.0});
  return tone;
}

ComparedTone heard_after(const std::string& id, double order, ToneChange change) {
  ComparedTone tone;
  tone.id_after = id;
  tone.order = order;
  tone.change = change;
  tone.found_after = true;
  tone.prominent_after = true;
  return tone;
}

}  // namespace

TEST_CASE("new howls: a multiple stands with its base, which comes with the point") {
  const ToneResult base = locked_tone("tone1", 13.626);
  const ToneResult twice = locked_tone("tone2", 27.252);
  const ToneResult third = locked_tone("tone3", 40.871);
  const ToneResult apart = locked_tone("tone4", 34.7);
  const std::vector<MatchedTone> matched{
      {nullptr, {&twice}}, {nullptr, {&base}}, {nullptr, {&third}}, {nullptr, {&apart}}};
  Comparison c = with_places({"pan", "front", "mount"});
  for (const MatchedTone& m : matched)
    c.tones.push_back(heard_after(m.lead().id, *m.lead().order, ToneChange::appeared));
  measure_after(c.tones[1], {-40.0, -32.0, -39.0});
  mark_multiples(c.tones, matched);
  CHECK(!c.tones[1].multiple);
  CHECK(!c.tones[3].multiple);
  REQUIRE(c.tones[2].multiple);
  CHECK(c.tones[2].multiple->number == 3);
  CHECK(c.tones[2].multiple->base_id_after == "tone1");
  CHECK(new_words(c) ==
        "New since the case before, and prominent: order 13.63 with its multiples 27.25, 40.87, "
        "loudest at front; order 34.70. ");
}

TEST_CASE("new howls: a base under the engine's firing is named where its multiple is new") {
  const ToneResult base = locked_tone("tone1", 13.626);
  const ToneResult twice = locked_tone("tone2", 27.252);
  const ToneResult firing = locked_tone("tone9", 13.5);
  const std::vector<MatchedTone> matched{{&firing, {&base}}, {nullptr, {&twice}}};
  Comparison c = with_places({"pan", "front"});
  c.tones.push_back(heard_after("tone1", 13.626, ToneChange::louder));
  c.tones.front().firing_order_before = 13.5;
  c.tones.push_back(heard_after("tone2", 27.252, ToneChange::appeared));
  measure_after(c.tones.back(), {-51.0, -40.0});
  mark_multiples(c.tones, matched);
  CHECK(is_base_of_new(c, c.tones.front()));
  CHECK(new_words(c) ==
        "New since the case before, and prominent: most likely order 13.63 with its multiple "
        "27.25, loudest at front; only the multiple is proven to be new, because the engine's own "
        "order 13.50 hides what else lies there. ");
  // A line that did not change says nothing.
  c.tones.front().change = ToneChange::unchanged;
  c.tones.back().multiple.reset();
  mark_multiples(c.tones, matched);
  CHECK(!c.tones.back().multiple);
}

TEST_CASE("new howls: points that differ by less than 3 dB are no different") {
  Comparison c = with_places({"pan", "front", "mount"});
  ComparedTone tone = heard_after("tone1", 13.6, ToneChange::appeared);
  CHECK(loudest_words(c, tone).empty());
  measure_after(tone, {-34.0, -32.0, -39.0});
  CHECK(loudest_words(c, tone) == "loudest at front and pan");
  tone.at.clear();
  measure_after(tone, {-34.0, -33.0, -32.0});
  CHECK(loudest_words(c, tone) == "about as loud at all 3 points");
  c.places[0].trusted = false;
  c.places[1].condition = "2500 rpm";
  CHECK(loudest_words(c, tone).starts_with("heard at "));
}

TEST_CASE("new howls: a tone that is the engine's on one side only is described by the other") {
  ToneResult firing = locked_tone("tone1", 13.5);
  firing.combustion = true;
  const ToneResult howl = locked_tone("tone2", 13.63);
  const MatchedTone arrived{&firing, {&firing, &howl}};
  CHECK(!arrived.found_before());
  CHECK(arrived.found_after());
  CHECK(&arrived.lead() == &howl);
  const MatchedTone left{&howl, {&firing}};
  CHECK(left.found_before());
  CHECK(!left.found_after());
  CHECK(&left.lead() == &howl);
  ToneResult open = howl;
  open.behaviour = Behaviour::undetermined;
  open.order.reset();
  const MatchedTone at_one_speed{&firing, {&open}};
  CHECK(!at_one_speed.found_after());
  CHECK(&at_one_speed.lead() == &firing);
  const MatchedTone heard_after_only{nullptr, {&open}};
  CHECK(heard_after_only.found_after());
  const MatchedTone always{&firing, {&firing}};
  CHECK(!always.found_before());
  CHECK(&always.lead() == &firing);
}

TEST_CASE("new howls: a multiple of a multiple is told by the lowest, proven or not") {
  const ToneResult base = locked_tone("tone1", 13.626);
  const ToneResult twice = locked_tone("tone2", 27.252);
  const ToneResult fourfold = locked_tone("tone3", 54.504);
  const std::vector<MatchedTone> matched{
      {nullptr, {&base}}, {nullptr, {&twice}}, {nullptr, {&fourfold}}};
  Comparison c;
  c.tones.push_back(heard_after("tone1", 13.626, ToneChange::undetermined));
  c.tones.push_back(heard_after("tone2", 27.252, ToneChange::appeared));
  c.tones.push_back(heard_after("tone3", 54.504, ToneChange::appeared));
  mark_multiples(c.tones, matched);
  REQUIRE(c.tones[2].multiple);
  CHECK(c.tones[2].multiple->number == 4);
  CHECK(new_words(c) ==
        "New since the case before, and prominent: most likely order 13.63 with its multiples "
        "27.25, 54.50; only the multiples are proven to be new. ");
}

TEST_CASE("tone match: a sweep's window ends where the engine's next order begins") {
  const auto take_of = [](const std::string& id) {
    TakeAudio take;
    take.id = id;
    take.point = "pan";
    take.sample_rate = 16000.0;
    take.seconds = 15.0;
    const std::vector<SpeedPoint> ramp{{Seconds(0.0), Rpm(900.0)}, {Seconds(15.0), Rpm(2600.0)}};
    take.speed = SpeedCurve::through(ramp, 0.01);
    return take;
  };
  const std::vector<TakeAudio> before{take_of("t01")};
  const std::vector<TakeAudio> after{take_of("t01")};
  const TakePairs pairs = pair_takes(before, after, {});
  REQUIRE(pairs.rows.size() == 1);
  const auto followed = [](double order) {
    ToneResult tone = locked_tone("tone", order);
    tone.track.clear();
    for (const double rpm : {1000.0, 1500.0, 2000.0})
      tone.track.push_back(
          {(rpm - 900.0) * 15.0 / 1700.0, rpm, order * rpm / 60.0, 0.1, "t01", -40.0});
    return tone;
  };
  const ToneResult howl = followed(13.63);
  const ToneResult firing = followed(14.0);
  const ToneResult beside = followed(13.5);
  const std::vector<MatchedTone> alone{{&howl, {}}};
  const std::vector<MatchedTone> all{{&howl, {}}, {&firing, {&firing}}, {&beside, {}}};
  const double lobe = 2.0 * line_orders(before.front());
  const auto wide = windows_in(alone[0], alone, pairs.rows[0], before, after);
  const auto narrow = windows_in(all[0], all, pairs.rows[0], before, after);
  REQUIRE(wide);
  REQUIRE(narrow);
  CHECK(wide->after[0].place.range.contains(14.0));
  CHECK(narrow->before[0].place.range.high == doctest::Approx(14.0 - lobe));
  CHECK(narrow->after[0].place.range.high == doctest::Approx(14.0 - lobe));
  // Order 13.5 may be the howl itself, of a belt that slipped.
  CHECK(narrow->before[0].place.range.low == doctest::Approx(wide->before[0].place.range.low));
}
