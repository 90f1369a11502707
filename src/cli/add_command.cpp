#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "src/case/case.h"
#include "src/cli/commands.h"
#include "src/cli/describe.h"
#include "src/cli/names.h"
#include "src/cli/option_values.h"
#include "src/cli/spooled_input.h"
#include "src/cli/standard_streams.h"
#include "src/cli/take_warnings.h"
#include "src/errors.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

using Text = std::optional<std::string>;

/// As typed; only what was given is set.
struct AddOptions {
  std::string folder;
  std::string recording;
  std::string point;
  bool new_point{};
  Text rpm;
  Text ramp;
  Text log;
  Text tacho_channel;
  Text pulses_per_revolution;
  bool from_sound{};
  Text near;
  Text channel;
  Text reference_channel;
  std::vector<std::string> load;
  Text road_speed;
  bool background{};
  std::string note;
};

void require_one_speed(const AddOptions& options) {
  const int given = int{options.rpm.has_value()} + int{options.ramp.has_value()} +
                    int{options.log.has_value()} + int{options.tacho_channel.has_value()} +
                    int{options.from_sound};
  if (given == 1) return;
  throw Error(Fault::command, "engine speed",
              given == 0 ? "not given; without it no tone can be tied to the engine"
                         : "given more than once",
              "give exactly one of --rpm, --rpm-ramp, --rpm-log, --tacho-channel, "
              "--rpm-from-sound");
}

void require_pulses_with_tacho(const AddOptions& options) {
  if (options.tacho_channel.has_value() == options.pulses_per_revolution.has_value()) return;
  throw Error(Fault::command, "tacho",
              "--tacho-channel and --pulses-per-rev belong together, and one is missing",
              "give both, for example --tacho-channel 2 --pulses-per-rev 1");
}

void require_near_with_sound(const AddOptions& options) {
  if (!options.near || options.from_sound) return;
  throw Error(Fault::command, "--rpm-near", "means something only with --rpm-from-sound",
              "give both, or the speed itself with --rpm");
}

SpeedSource speed_source_of(const AddOptions& options) {
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

Take take_of(const AddOptions& options) {
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

/// Two names of one place would be ranked as two points.
void require_new_name(const std::string& point, const std::vector<std::string>& known) {
  for (const std::string& name : known)
    if (same_but_for_case(name, point))
      throw Error(Fault::command, "--point " + point, "the case has this point as '" + name + "'",
                  "write the name in the same way");
}

void require_point(const AddOptions& options) {
  const std::string& point = options.point;
  std::vector<std::string> known;
  for (const ProbePoint& known_point : load_case(options.folder).points) {
    if (known_point.name == point) return;
    known.push_back(known_point.name);
  }
  if (options.new_point) return require_new_name(point, known);
  throw Error(
      Fault::command, "--point " + point, "the case has no such probe point",
      did_you_mean(point, known) + "known are " + quoted_list(known) + "; --new-point adds one");
}

void add(const AddOptions& options, const Session& session) {
  NewTake request{
      .recording = options.recording,
      .log = options.log ? std::optional<std::filesystem::path>(*options.log) : std::nullopt,
      .take = take_of(options),
      .make_point = options.new_point};
  if (options.log == "-")
    throw Error(Fault::command, "--rpm-log -", "a speed log cannot come from standard input",
                "give the log as a file");
  require_point(options);

  std::optional<SpooledInput> spooled;
  if (options.recording == "-") request.recording = spooled.emplace().file();
  const AddedTake added = add_take(options.folder, request);
  print_result("Added " + describe_take(added.take));
  if (session.quiet) return;
  std::vector<std::string> warnings = added.warnings;
  for (std::string& warning :
       take_warnings(options.folder, added.take, load_case(options.folder).cylinders))
    warnings.push_back(std::move(warning));
  for (const std::string& warning : warnings)
    print_message("warning: " + added.take.id + ": " + printable(warning));
}

void describe_speed_options(CLI::App& command, AddOptions& options) {
  const auto speed = "Engine speed (exactly one)";
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

void describe_other_options(CLI::App& command, AddOptions& options) {
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

}  // namespace

void add_add_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<AddOptions>();
  CLI::App* command = program.add_subcommand(
      "add", "Add a recording, made at one probe point, to a case as a take");
  command->footer(
      "howlpoint add whine pan.wav --point \"transmission pan\" --rpm 1800 --load ac=off");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command->add_option("FILE", options->recording, "Recording; - reads it from standard input")
      ->required();
  command
      ->add_option("--point", options->point, "Probe point that the microphone touched (required)")
      ->type_name("NAME")
      ->required();
  command->add_flag("--new-point", options->new_point,
                    "Add the probe point to the case if it is not there yet");
  describe_speed_options(*command, *options);
  describe_other_options(*command, *options);
  command->callback([options, &session] { add(*options, session); });
}

}  // namespace howl
