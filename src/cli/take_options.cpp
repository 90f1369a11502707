#include "src/cli/take_options.h"

#include <CLI/CLI.hpp>
#include <string>

namespace howl {

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
