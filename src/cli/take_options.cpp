#include "src/cli/take_options.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <string>
#include <utility>
#include <vector>

#include "src/cli/names.h"
#include "src/cli/option_values.h"
#include "src/errors.h"

namespace howl {
namespace {

void require_one_speed(const TakeOptions& options) {
  const int given = int{options.rpm.has_value()} + int{options.ramp.has_value()} +
                    int{options.log.has_value()} + int{options.tacho_channel.has_value()} +
                    int{options.from_sound};
  if (given == 1) return;
  throw Error(Fault::command, "engine speed",
              given == 0 ? "not given; without it no tone can be tied to the engine"
                         : "given more than once",
              fmt::format("give exactly one of --rpm, --rpm-ramp, {}--tacho-channel, "
                          "--rpm-from-sound",
                          options.log_possible ? "--rpm-log, " : ""));
}

void require_pulses_with_tacho(const TakeOptions& options) {
  if (options.tacho_channel.has_value() == options.pulses_per_revolution.has_value()) return;
  throw Error(Fault::command, "tacho",
              "--tacho-channel and --pulses-per-rev belong together, and one is missing",
              "give both, for example --tacho-channel 2 --pulses-per-rev 1");
}

void require_near_with_sound(const TakeOptions& options) {
  if (!options.near || options.from_sound) return;
  throw Error(Fault::command, "--rpm-near", "means something only with --rpm-from-sound",
              "give both, or the speed itself with --rpm");
}

SpeedSource speed_source_of(const TakeOptions& options) {
  require_one_speed(options);
  require_pulses_with_tacho(options);
  require_near_with_sound(options);
  if (options.from_sound) {
    SpeedInSound heard;
    if (options.near) heard.near = rpm_of(*options.near, "--rpm-near");
    return heard;
  }
  if (options.rpm && number_of(*options.rpm, "--rpm") == 0.0) return EngineOff{};
  if (options.rpm) return EnteredSpeed{rpm_of(*options.rpm, "--rpm")};
  if (options.ramp) return EnteredRamp{ramp_of(*options.ramp, "--rpm-ramp")};
  if (options.log) return LoggedSpeed{};
  return TachoSpeed{channel_of(*options.tacho_channel, "--tacho-channel"),
                    positive_of(*options.pulses_per_revolution, "--pulses-per-rev")};
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
              "give the probe (--channel), the reference and the tacho a channel each");
}

/// Two names of one place would be ranked as two points.
void require_new_name(const std::string& point, const std::vector<std::string>& known) {
  for (const std::string& name : known)
    if (same_but_for_case(name, point))
      throw Error(Fault::command, "--point " + point, "the case has this point as '" + name + "'",
                  "write the name in the same way");
}

}  // namespace

Take take_of(const TakeOptions& options) {
  Take take;
  take.point = options.point;
  take.speed = speed_source_of(options);
  if (options.channel) take.channel = channel_of(*options.channel, "--channel");
  if (options.reference_channel)
    take.reference_channel = channel_of(*options.reference_channel, "--reference-channel");
  require_different_channels(take);
  take.load = load_of(options.load);
  if (options.road_speed)
    take.road_speed_kmh = not_negative_of(*options.road_speed, "--road-speed");
  take.background = options.background;
  take.note = options.note;
  return take;
}

Error no_such_point(const std::string& point, const std::vector<std::string>& known,
                    const std::string& more) {
  return {Fault::command, "--point " + point, "the case has no such probe point",
          did_you_mean(point, known) + "known are " + quoted_list(known) + more};
}

void require_point(const std::filesystem::path& folder, const TakeOptions& options) {
  const std::string& point = options.point;
  std::vector<std::string> known;
  for (const ProbePoint& known_point : load_case(folder).points) {
    if (known_point.name == point) return;
    known.push_back(known_point.name);
  }
  if (options.new_point) return require_new_name(point, known);
  throw no_such_point(point, known, "; --new-point adds one");
}

void describe_point_options(CLI::App& command, TakeOptions& options) {
  command
      .add_option("--point", options.point, "Probe point that the microphone touched (required)")
      ->type_name("NAME")
      ->required();
  command.add_flag("--new-point", options.new_point,
                   "Add the probe point to the case if it is not there yet");
}

void describe_speed_options(CLI::App& command, TakeOptions& options, bool with_log) {
  options.log_possible = with_log;
  const std::string speed = "Engine speed (exactly one)";
  command.add_option("--rpm", options.rpm, "Steady crankshaft speed, rpm; 0: the engine is off")
      ->type_name("N")
      ->group(speed);
  command
      .add_option(
          "--rpm-ramp", options.ramp,
          "Speed at times, straight lines between;\nseconds from the start of the recording, "
          "and rpm:\n0:800,12.5:3000")
      ->type_name("T0:N0,T1:N1,...")
      ->group(speed);
  if (with_log)
    command
        .add_option("--rpm-log", options.log,
                    "Speed log: CSV with a column of seconds and one of rpm")
        ->type_name("FILE.csv")
        ->group(speed);
  command.add_option("--tacho-channel", options.tacho_channel, "Channel with tacho pulses")
      ->type_name("K")
      ->group(speed);
  command
      .add_option("--pulses-per-rev", options.pulses_per_revolution,
                  "Tacho pulses in one crankshaft revolution")
      ->type_name("P")
      ->group(speed);
  command
      .add_flag("--rpm-from-sound", options.from_sound,
                "Nobody wrote it down: find it in the engine's orders")
      ->group(speed);
  command
      .add_option("--rpm-near", options.near,
                  "What you believe it to be, give or take 10 %;\nwith --rpm-from-sound")
      ->type_name("N")
      ->group(speed);
}

void describe_other_take_options(CLI::App& command, TakeOptions& options) {
  command
      .add_option("--channel", options.channel, "Channel of the probe, counted from 1 (default 1)")
      ->type_name("K");
  command
      .add_option("--reference-channel", options.reference_channel,
                  "Channel of a second microphone that stayed in place")
      ->type_name("K");
  command
      .add_option("--load", options.load,
                  "What was loaded: ac=on, steering=\"left stop\";\nrepeat for more")
      ->type_name("KEY=VALUE")
      ->expected(1)
      ->take_all();
  command.add_option("--road-speed", options.road_speed, "Vehicle speed, km/h")->type_name("KMH");
  command.add_flag("--background", options.background,
                   "The suspect does not work in this take (unloaded,\nbelt off, clutch out): "
                   "taken off the other levels");
  command.add_option("--note", options.note, "Anything worth remembering")->type_name("TEXT");
}

}  // namespace howl
