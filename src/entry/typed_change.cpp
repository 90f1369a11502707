#include "src/entry/typed_change.h"

#include <algorithm>
#include <utility>

#include "src/entry/names.h"
#include "src/errors.h"

namespace howl {
namespace {

/// "ac" of "ac=on".
std::string load_name(const std::string& typed) { return typed.substr(0, typed.find('=')); }

bool forget_load(TypedTake& take, const std::string& name) {
  return std::erase_if(take.load,
                       [&](const std::string& load) { return load_name(load) == name; }) > 0;
}

std::vector<std::string> what_can_go(const TypedTake& take) {
  std::vector<std::string> names;
  for (const std::string& load : take.load) names.push_back(load_name(load));
  if (take.background) names.emplace_back("background");
  if (!take.note.empty()) names.emplace_back("note");
  if (take.reference_channel) names.emplace_back("reference-channel");
  if (take.road_speed) names.emplace_back("road-speed");
  return names;
}

void forget_one(TypedTake& take, const std::string& name) {
  const std::vector<std::string> known = what_can_go(take);
  if (std::ranges::find(known, name) == known.end())
    throw Error(Fault::command, "--forget " + name, "the take has nothing of that name",
                did_you_mean(name, known) + (known.empty() ? "nothing of it can be forgotten"
                                                           : "it has " + joined(known, ", ")));
  if (forget_load(take, name)) return;
  if (name == "background") take.background = false;
  if (name == "note") take.note.clear();
  if (name == "reference-channel") take.reference_channel.reset();
  if (name == "road-speed") take.road_speed.reset();
}

bool gives_speed(const TypedTake& given) {
  return given.rpm || given.ramp || given.log || given.tacho_channel || given.from_sound;
}

void forget_speed(TypedTake& take) {
  take.rpm.reset();
  take.ramp.reset();
  take.log.reset();
  take.tacho_channel.reset();
  take.pulses_per_revolution.reset();
  take.from_sound = false;
  take.near.reset();
}

void put(const TypedTake::Text& given, TypedTake::Text& into) {
  if (given) into = given;
}

void put_speed(const TypedTake& given, TypedTake& take) {
  if (gives_speed(given)) forget_speed(take);
  put(given.rpm, take.rpm);
  put(given.ramp, take.ramp);
  put(given.log, take.log);
  put(given.tacho_channel, take.tacho_channel);
  put(given.pulses_per_revolution, take.pulses_per_revolution);
  if (given.from_sound) take.from_sound = true;
  put(given.near, take.near);
}

/// All at once, so that one that is given twice is found as it is for a new take.
void put_loads(const std::vector<std::string>& given, TypedTake& take) {
  for (const std::string& load : given) forget_load(take, load_name(load));
  take.load.insert(take.load.end(), given.begin(), given.end());
}

void require_something(const TypedChange& change) {
  TypedTake nothing;
  nothing.log_possible = change.given.log_possible;
  if (!change.forget.empty() || !(change.given == nothing)) return;
  throw Error(Fault::command, "nothing to change", "no option says what is to be otherwise",
              "give what is right now, for example --rpm 1750");
}

}  // namespace

TypedTake typed_after(const Take& take, const TypedChange& change) {
  require_something(change);
  const TypedTake& given = change.given;
  TypedTake typed = typed_take_of(take);
  for (const std::string& name : change.forget) forget_one(typed, name);
  if (!given.point.empty()) typed.point = given.point;
  typed.new_point = given.new_point;
  put_speed(given, typed);
  put(given.channel, typed.channel);
  put(given.reference_channel, typed.reference_channel);
  put_loads(given.load, typed);
  put(given.road_speed, typed.road_speed);
  if (given.background) typed.background = true;
  if (!given.note.empty()) typed.note = given.note;
  return typed;
}

}  // namespace howl
