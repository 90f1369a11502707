#include "src/profile/load_tests.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cctype>

#include "src/lower_case.h"

namespace howl {

namespace {

using Words = std::vector<std::string>;

constexpr const char* kTurningParts =
    "Keep hands, hair, sleeves, the probe and its cable away from belts, pulleys and fans; an "
    "electric fan can start by itself";
constexpr const char* kExhaust = "Lead the exhaust out of the building";
constexpr const char* kHearing =
    "Wear hearing protection: 85 dB(A) is the limit for eight hours, 100 dB(A) for a quarter of "
    "one (NIOSH)";
constexpr const char* kManual =
    "The vehicle's service manual, local codes and the limits of licensed practice come before "
    "this text";
constexpr const char* kSafeRoad =
    "Who drives looks at the road and does not touch the computer, a second one records: on a "
    "safe, level road without traffic and as road law allows, or on rollers";

/// What holds for every test with the engine running in a workshop, after the test's own cautions.
Words in_the_workshop(Words own) {
  own.insert(own.end(), {kTurningParts, kExhaust, kHearing, kManual});
  return own;
}

Words on_the_road(Words own) {
  own.insert(
      own.end(),
      {"Fix the probe and its cable before setting off, where they cannot reach belts, fans, "
       "shafts, wheels or the exhaust; nobody reaches under the vehicle or into the engine "
       "bay while it rolls",
       kManual});
  return own;
}

LoadTest steering_test() {
  return {.key = "steering",
          .name = "steering",
          .title = "Steering against its stop",
          .base = {"straight", "straight ahead", "centre", "center", "middle", "off", "no"},
          .loaded = {"left stop", "right stop", "stop", "against stop", "full left", "full right",
                     "left lock", "right lock", "lock", "on", "yes"},
          .how =
              "Engine at the speed of the other takes, vehicle at rest. Record with the wheel "
              "straight, then turn it against a stop and record there for 5 s at most; let go, and "
              "wait 30 s before the next time.",
          .minutes = 3.0,
          .cautions = in_the_workshop(
              {"Hold the wheel against its stop for 5 s at most: the pump overheats within seconds",
               "Nobody near the front wheels, and no hand in the steering's linkage",
               "Fluid is hot and under pressure: keep off hoses and fittings"})};
}

LoadTest ac_test() {
  return {.key = "ac",
          .name = "air conditioning",
          .title = "Air conditioning on",
          .base = {"off", "no"},
          .loaded = {"on", "yes", "max", "high"},
          .how =
              "Record with the air conditioning off, then with it on, coldest, blower high, "
              "while the compressor is engaged: one click and a dip of the engine's speed tell. "
              "Bring the engine back to the same speed.",
          .minutes = 3.0,
          .cautions = in_the_workshop(
              {"The radiator's fan starts with the compressor",
               "Never loosen a part of the refrigerant's circuit; that is for licensed hands"})};
}

LoadTest electrical_test() {
  return {.key = "electrical",
          .name = "electrical load",
          .title = "Electrical load on",
          .base = {"off", "low", "none", "no"},
          .loaded = {"on", "high", "yes"},
          .how =
              "Record with all consumers off, then with headlamps, blower and rear window heater "
              "on, at the same engine speed.",
          .minutes = 2.0,
          .cautions = in_the_workshop(
              {"Do not unplug the battery or the alternator while the engine runs"})};
}

LoadTest selector_test() {
  return {.key = "selector",
          .name = "selector",
          .title = "Selector from Park or Neutral to Drive or Reverse",
          .base = {"P", "N", "park", "neutral"},
          .loaded = {"D", "R", "drive", "reverse"},
          .how =
              "At idle only: record in Park or Neutral, then in Drive or Reverse with the foot "
              "brake held and the parking brake on, for 10 s at most, and back to Park. Note the "
              "engine's speed in both.",
          .minutes = 4.0,
          .cautions = in_the_workshop(
              {"Chock the wheels, hold the foot brake, parking brake on; a person at the brake "
               "until the selector is back in Park, nobody in front of or behind the vehicle",
               "Idle only. This is no stall test: do not touch the accelerator in gear",
               "The one who records stands beside the vehicle, not between it and a wall"})};
}

LoadTest coast_test() {
  return {.key = "coast",
          .name = "coasting",
          .title = "Coasting in neutral",
          .base = {"driving", "drive", "no", "off"},
          .loaded = {"coasting", "coast", "neutral", "yes", "on"},
          .how =
              "At a steady road speed, record while driving; then shift to neutral, bring the "
              "engine back to the speed that it had, and record while the vehicle rolls at that "
              "road speed. Note the road speed of both takes. What sinks when the "
              "engine is let down to idle while rolling is the engine's; what stays is the road's.",
          .minutes = 12.0,
          .cautions = on_the_road(
              {kSafeRoad,
               "In neutral there is no engine braking; leave the engine running, else steering and "
               "brakes lose their help",
               "Some automatic transmissions must not roll in neutral: see the manual first"}),
          .vehicle_moves = true};
}

LoadTest standing_test() {
  return {.key = "standing",
          .name = "standing",
          .title = "Standing in neutral at the same engine speed",
          .base = {"rolling", "driving", "moving", "no", "off"},
          .loaded = {"standing", "stopped", "at rest", "yes", "on"},
          .how =
              "Where the howl is heard on the road, read the engine's speed and record. Then "
              "stop, shift to neutral and bring the engine to the same speed: what remains is "
              "engine, accessories or the transmission's input; what is gone goes with the road.",
          .minutes = 10.0,
          .cautions = on_the_road(
              {kSafeRoad, "Stop where it is allowed and safe; parking brake on before revving"}),
          .vehicle_moves = true,
          .stands_loaded = true};
}

LoadTest belt_test() {
  return {
      .key = "belt",
      .name = "accessory belt",
      .title = "Accessory belt taken off",
      .base = {"on", "fitted"},
      .loaded = {"off", "removed"},
      .how =
          "With the engine cold: engine off, key out, take the belt off as the manual says, tools "
          "and hands away, start, record for 30 s at most, engine off, key out, belt back on its "
          "marked path.",
      .minutes = 30.0,
      .cautions = in_the_workshop(
          {"Engine off and key out, out of reach of a remote start, while anyone works at the belt",
           "Run the engine for 30 s at most, from cold: without the belt the water pump does not "
           "turn and the engine can overheat",
           "Steering and, on some vehicles, brakes lose their help, and the battery is not "
           "charged: "
           "do not move the vehicle; warning lights and stored fault codes are to be expected",
           "Not where the same belt drives the camshaft, and not where a belt starter-generator "
           "starts the engine",
           "Mark the belt's direction and path; a spring-loaded tensioner can crush fingers"})};
}

LoadTest clutch_test() {
  return {.key = "clutch",
          .name = "clutch pedal",
          .title = "Clutch pedal pressed",
          .base = {"released", "up", "engaged"},
          .loaded = {"pressed", "depressed", "down", "disengaged"},
          .how =
              "In neutral, vehicle at rest: record with the clutch pedal released, then with it "
              "pressed to the floor, at the same engine speed.",
          .minutes = 2.0,
          .cautions = in_the_workshop(
              {"Neutral, parking brake on, wheels chocked; nobody in front of or behind the "
               "vehicle"})};
}

std::string plain(std::string_view value) {
  std::string words;
  for (const char c : value) {
    if (std::isspace(static_cast<unsigned char>(c)) == 0)
      words += lower_case(c);
    else if (!words.empty() && words.back() != ' ')
      words += ' ';
  }
  if (words.ends_with(' ')) words.pop_back();
  return words;
}

bool is_among(std::string_view value, const Words& words) {
  return std::ranges::any_of(words, [&](const std::string& word) { return plain(word) == value; });
}

}  // namespace

std::vector<std::string> road_cautions() { return on_the_road({kSafeRoad}); }

bool is_driven(const LoadState& load, std::optional<double> road_speed_kmh) {
  if (road_speed_kmh) return *road_speed_kmh > 0.0;
  return std::ranges::any_of(load, [](const auto& state) {
    if (state.first == gear_key) return true;
    const LoadTest* const test = find_load_test(state.first);
    return test != nullptr && test->vehicle_moves &&
           !(test->stands_loaded && is_loaded(*test, state.second).value_or(false));
  });
}

std::vector<std::string> recording_cautions(const LoadState& load,
                                            std::optional<double> road_speed_kmh) {
  return is_driven(load, road_speed_kmh) ? road_cautions() : std::vector<std::string>{};
}

std::span<const LoadTest> load_tests() {
  static const std::array tests{steering_test(), ac_test(),    electrical_test(), selector_test(),
                                clutch_test(),   coast_test(), standing_test(),   belt_test()};
  return tests;
}

const LoadTest* find_load_test(std::string_view key) {
  const auto found = std::ranges::find(load_tests(), key, &LoadTest::key);
  return found != load_tests().end() ? &*found : nullptr;
}

std::string next_load_state(const LoadTest& test, const std::string& now) {
  if (now.empty()) return test.loaded.front();
  return now == test.loaded.front() ? test.base.front() : std::string();
}

std::vector<std::string> load_test_keys() {
  std::vector<std::string> keys;
  for (const LoadTest& test : load_tests()) keys.push_back(test.key);
  return keys;
}

std::optional<bool> is_loaded(const LoadTest& test, std::string_view value) {
  const std::string word = plain(value);
  if (is_among(word, test.loaded)) return true;
  if (is_among(word, test.base)) return false;
  return std::nullopt;
}

std::vector<std::string> doubts_of_load(const LoadState& load) {
  std::vector<std::string> doubts;
  for (const auto& [key, value] : load) {
    if (key == gear_key) continue;
    const LoadTest* const test = find_load_test(key);
    if (test == nullptr)
      doubts.push_back(
          fmt::format("no load test is called '{}', so that nothing is made of '{}={}' but to "
                      "keep the take apart from others; known are {}, and '{}'",
                      key, key, value, fmt::join(load_test_keys(), ", "), gear_key));
    else if (!is_loaded(*test, value))
      doubts.push_back(
          fmt::format("'{}={}' is neither '{}' nor '{}', so that nothing is made of it but to keep "
                      "the take apart from others",
                      key, value, test->base.front(), test->loaded.front()));
  }
  return doubts;
}

}  // namespace howl
