#include "src/entry/typed_change.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <string>
#include <variant>
#include <vector>

#include "src/errors.h"

using namespace howl;

namespace {

Take take_at_the_pan() {
  Take take;
  take.point = "pan";
  take.speed = EnteredSpeed{Rpm(1800.0)};
  take.load = {{"ac", "on"}, {"gear", "3"}};
  take.road_speed_kmh = 60.0;
  take.reference_channel = 2;
  take.background = true;
  take.note = "warm";
  return take;
}

Take changed(const Take& take, const TypedChange& change) {
  return take_of(typed_after(take, change));
}

}  // namespace

TEST_CASE("what is not given of a change stays as it is") {
  TypedChange change;
  change.given.point = "pump";
  const Take now = changed(take_at_the_pan(), change);
  CHECK(now.point == "pump");
  CHECK(std::get<EnteredSpeed>(now.speed).speed.value == 1800.0);
  CHECK(now.load == take_at_the_pan().load);
  CHECK(now.road_speed_kmh == 60.0);
  CHECK(now.reference_channel == 2);
  CHECK(now.background);
  CHECK(now.note == "warm");
}

TEST_CASE("a load takes the place of the one of its name, others stay") {
  TypedChange change;
  change.given.load = {"ac=off", "steering=left stop"};
  const LoadState expected{{"ac", "off"}, {"gear", "3"}, {"steering", "left stop"}};
  CHECK(changed(take_at_the_pan(), change).load == expected);
  change.given.load = {"ac=off", "ac=on"};
  CHECK_THROWS_AS(changed(take_at_the_pan(), change), Error);
}

TEST_CASE("a speed takes the place of the whole speed, a part of one that of its part") {
  Take take = take_at_the_pan();
  take.speed = TachoSpeed{2, 1.0};
  take.reference_channel.reset();
  TypedChange change;
  change.given.pulses_per_revolution = "4";
  const auto tacho = std::get<TachoSpeed>(changed(take, change).speed);
  CHECK(tacho.channel == 2);
  CHECK(tacho.pulses_per_revolution == 4.0);
  change = {};
  change.given.rpm = "1750";
  CHECK(std::get<EnteredSpeed>(changed(take, change).speed).speed.value == 1750.0);
  change = {};
  change.given.from_sound = true;
  take = changed(take, change);
  REQUIRE(std::holds_alternative<SpeedInSound>(take.speed));
  change = {};
  change.given.near = "1700";
  CHECK(std::get<SpeedInSound>(changed(take, change).speed).near->value == 1700.0);
  CHECK_THROWS_AS(changed(take_at_the_pan(), change), Error);  // its speed was entered
}

TEST_CASE("a log that is not given anew is the one that the take has") {
  Take take = take_at_the_pan();
  take.speed = LoggedSpeed{.log = "logs/t01-drive.csv", .sha256 = "0"};
  TypedChange change;
  change.given.note = "cold";
  CHECK_FALSE(facts_of(typed_after(take, change)).log);
  change.given.log = "other.csv";
  CHECK(facts_of(typed_after(take, change)).log == std::filesystem::path("other.csv"));
}

TEST_CASE("what is not so of a take is forgotten, and only that") {
  TypedChange change;
  change.forget = {"ac", "road-speed", "reference-channel", "background", "note"};
  const Take now = changed(take_at_the_pan(), change);
  CHECK(now.load == LoadState{{"gear", "3"}});
  CHECK_FALSE(now.road_speed_kmh);
  CHECK_FALSE(now.reference_channel);
  CHECK_FALSE(now.background);
  CHECK(now.note.empty());
  CHECK_THROWS_AS(changed(now, {.given = {}, .forget = {"ac"}}), Error);
}

TEST_CASE("a change that says nothing, or forgets what is not there, says what to do") {
  const auto refusal = [](const TypedChange& change) {
    try {
      typed_after(take_at_the_pan(), change);
    } catch (const Error& error) {
      CHECK(error.fault() == Fault::command);
      return error.remedy();
    }
    return std::string("accepted");
  };
  CHECK(refusal({}) == "give what is right now, for example --rpm 1750");
  CHECK(refusal({.given = {}, .forget = {"notes"}}) ==
        "did you mean 'note'? it has ac, gear, background, note, reference-channel, road-speed");
}
