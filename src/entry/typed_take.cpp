#include "src/entry/typed_take.h"

#include <fmt/format.h>

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "src/case/load_words.h"
#include "src/entry/names.h"
#include "src/entry/typed_values.h"
#include "src/errors.h"
#include "src/keeping/add_take.h"

namespace howl {
namespace {

void require_one_speed(const TypedTake& typed) {
  const int given = int{typed.rpm.has_value()} + int{typed.ramp.has_value()} +
                    int{typed.log.has_value()} + int{typed.tacho_channel.has_value()} +
                    int{typed.from_sound};
  if (given == 1) return;
  throw Error(Fault::command, "engine speed",
              given == 0 ? "not given; without it no tone can be tied to the engine"
                         : "given more than once",
              fmt::format("give exactly one of --rpm, --rpm-ramp, {}--tacho-channel, "
                          "--rpm-from-sound",
                          typed.log_possible ? "--rpm-log, " : ""));
}

void require_pulses_with_tacho(const TypedTake& typed) {
  if (typed.tacho_channel.has_value() == typed.pulses_per_revolution.has_value()) return;
  throw Error(Fault::command, "tacho",
              "--tacho-channel and --pulses-per-rev belong together, and one is missing",
              "give both, for example --tacho-channel 2 --pulses-per-rev 1");
}

void require_near_with_sound(const TypedTake& typed) {
  if (!typed.near || typed.from_sound) return;
  throw Error(Fault::command, "--rpm-near", "means something only with --rpm-from-sound",
              "give both, or the speed itself with --rpm");
}

SpeedSource speed_source_of(const TypedTake& typed) {
  require_one_speed(typed);
  require_pulses_with_tacho(typed);
  require_near_with_sound(typed);
  if (typed.from_sound) {
    SpeedInSound heard;
    if (typed.near) heard.near = held_rpm_of(*typed.near, "--rpm-near");
    return heard;
  }
  if (typed.rpm && number_of(*typed.rpm, "--rpm") == 0.0) return EngineOff{};
  if (typed.rpm) return EnteredSpeed{held_rpm_of(*typed.rpm, "--rpm")};
  if (typed.ramp) return EnteredRamp{ramp_of(*typed.ramp, "--rpm-ramp")};
  if (typed.log) return LoggedSpeed{};
  return TachoSpeed{channel_of(*typed.tacho_channel, "--tacho-channel"),
                    positive_of(*typed.pulses_per_revolution, "--pulses-per-rev")};
}

LoadState load_of(const std::vector<std::string>& texts) {
  LoadState load;
  for (const std::string& text : texts) {
    const auto [key, value] = key_value_of(text, "--load");
    if (!load.emplace(key, value).second)
      throw Error(Fault::command, "--load " + text, "'" + key + "' was given before",
                  "give every load once");
  }
  return load;
}

void require_different_channels(const Take& take) {
  const auto* tacho = std::get_if<TachoSpeed>(&take.speed);
  const bool reference_is_same = take.reference_channel == take.channel;
  const bool tacho_is_same = tacho != nullptr && (tacho->channel == take.channel ||
                                                  tacho->channel == take.reference_channel);
  if (!reference_is_same && !tacho_is_same) return;
  throw Error(Fault::command, "channels", "two of them have the same number",
              "give the probe, the reference and the tacho a channel each");
}

/// What looks like a known point's name is that point's.
std::string point_of(const TypedTake& typed) { return single_spaced(typed.point); }

/// Two names of one place would be ranked as two points.
void require_new_name(const std::string& point, const std::vector<std::string>& known) {
  for (const std::string& name : known)
    if (same_but_for_case(name, point))
      throw Error(Fault::command, "--point " + point, "the case has this point as '" + name + "'",
                  "write the name in the same way");
}

/// The shortest digits that mean the same number.
std::string digits(double value) { return fmt::format("{}", value); }

std::string ramp_text(const std::vector<SpeedPoint>& points) {
  std::string text;
  for (const SpeedPoint& point : points)
    text += (text.empty() ? "" : ",") + digits(point.time.value) + ":" + digits(point.speed.value);
  return text;
}

void type_speed(const SpeedSource& speed, TypedTake& typed) {
  if (const auto* entered = std::get_if<EnteredSpeed>(&speed))
    typed.rpm = digits(entered->speed.value);
  if (std::holds_alternative<EngineOff>(speed)) typed.rpm = "0";
  if (const auto* ramp = std::get_if<EnteredRamp>(&speed)) typed.ramp = ramp_text(ramp->points);
  if (std::holds_alternative<LoggedSpeed>(speed)) typed.log = "";
  if (const auto* tacho = std::get_if<TachoSpeed>(&speed)) {
    typed.tacho_channel = fmt::format("{}", tacho->channel);
    typed.pulses_per_revolution = digits(tacho->pulses_per_revolution);
  }
  if (const auto* heard = std::get_if<SpeedInSound>(&speed)) {
    typed.from_sound = true;
    if (heard->near) typed.near = digits(heard->near->value);
  }
}

}  // namespace

Take take_of(const TypedTake& typed) {
  Take take;
  take.point = point_of(typed);
  take.speed = speed_source_of(typed);
  if (typed.channel) take.channel = channel_of(*typed.channel, "--channel");
  if (typed.reference_channel)
    take.reference_channel = channel_of(*typed.reference_channel, "--reference-channel");
  require_different_channels(take);
  take.load = load_of(typed.load);
  if (typed.road_speed) take.road_speed_kmh = not_negative_of(*typed.road_speed, "--road-speed");
  take.background = typed.background;
  take.note = typed.note;
  return take;
}

Error no_such_point(const std::string& point, const std::vector<std::string>& known,
                    const std::string& more) {
  return {Fault::command, "--point " + point, "the case has no such probe point",
          did_you_mean(point, known) + "known are " + quoted_list(known) + more};
}

void require_point(const std::vector<ProbePoint>& points, const TypedTake& typed) {
  const std::string point = point_of(typed);
  std::vector<std::string> known;
  for (const ProbePoint& known_point : points) {
    if (known_point.name == point) return;
    known.push_back(known_point.name);
  }
  if (typed.new_point) return require_new_name(point, known);
  throw no_such_point(point, known, "; --new-point adds one");
}

NewTake new_take_of(const std::filesystem::path& recording, const TypedTake& typed) {
  return {.recording = recording,
          .log = typed.log ? std::optional<std::filesystem::path>(*typed.log) : std::nullopt,
          .take = take_of(typed),
          .make_point = typed.new_point};
}

NewTake facts_of(const TypedTake& typed) {
  NewTake facts = new_take_of({}, typed);
  if (facts.log && facts.log->empty()) facts.log.reset();
  return facts;
}

TypedTake typed_take_of(const Take& take) {
  TypedTake typed;
  typed.point = take.point;
  type_speed(take.speed, typed);
  if (take.channel != 1) typed.channel = fmt::format("{}", take.channel);
  if (take.reference_channel) typed.reference_channel = fmt::format("{}", *take.reference_channel);
  typed.load = load_pairs(take.load);
  if (take.road_speed_kmh) typed.road_speed = fmt::format("{}", *take.road_speed_kmh);
  typed.background = take.background;
  typed.note = take.note;
  return typed;
}

}  // namespace howl
