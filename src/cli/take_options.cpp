#include "src/cli/take_options.h"

#include <CLI/CLI.hpp>
#include <string>
#include <string_view>

#include "src/errors.h"

namespace howl {
namespace {

constexpr std::string_view one_speed = "Engine speed (exactly one)";
constexpr std::string_view another_speed = "Another engine speed (one at most)";

void describe_point(CLI::App& command, TakeOptions& options, bool required) {
  command
      .add_option(
          "--point", options.point,
          std::string("Probe point that the microphone touched") + (required ? " (required)" : ""))
      ->type_name("NAME")
      ->required(required);
  command.add_flag("--new-point", options.new_point,
                   "Add the probe point to the case if it is not there yet");
}

void describe_speed(CLI::App& command, TakeOptions& options, const std::string& speed) {
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
  if (options.log_possible)
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

/// As a shell reads one word again (POSIX.1-2017, 2.2.2).
std::string shell_word(const std::string& text) {
  const bool plain = !text.empty() && text.find_first_not_of(
                                          "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                          "0123456789_-./,:=+@%") == std::string::npos;
  if (plain) return text;
  std::string quoted = "'";
  for (const char c : text) quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return quoted + "'";
}

/// Options with what they were given, as they are typed.
class Line {
 public:
  Line& word(const std::string& text) {
    text_ += (text_.empty() ? "" : " ") + shell_word(text);
    return *this;
  }
  Line& option(const std::string& name, const TakeOptions::Text& value) {
    return value ? word(name).word(*value) : *this;
  }
  Line& flag(const std::string& name, bool is_set) { return is_set ? word(name) : *this; }
  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

}  // namespace

void describe_point_options(CLI::App& command, TakeOptions& options) {
  describe_point(command, options, true);
}

void describe_speed_options(CLI::App& command, TakeOptions& options, bool with_log) {
  options.log_possible = with_log;
  describe_speed(command, options, std::string(one_speed));
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

void describe_change_options(CLI::App& command, TypedChange& change) {
  describe_point(command, change.given, false);
  describe_speed(command, change.given, std::string(another_speed));
  describe_other_take_options(command, change.given);
  command
      .add_option("--forget", change.forget,
                  "What is not so: background, note, road-speed,\nreference-channel, or a load "
                  "(ac); repeat for more")
      ->type_name("WHAT")
      ->expected(1)
      ->take_all();
}

void require_log_file(const TakeOptions& options) {
  if (options.log == "-")
    throw Error(Fault::command, "--rpm-log -", "a speed log cannot come from standard input",
                "give the log as a file");
}

std::string add_line(const std::string& folder, const std::string& recording,
                     const TakeOptions& take) {
  Line line;
  line.word("howlpoint").word("add").word(folder).word(recording).option("--point", take.point);
  line.option("--rpm", take.rpm).option("--rpm-ramp", take.ramp).option("--rpm-log", take.log);
  line.option("--tacho-channel", take.tacho_channel);
  line.option("--pulses-per-rev", take.pulses_per_revolution);
  line.flag("--rpm-from-sound", take.from_sound).option("--rpm-near", take.near);
  line.option("--channel", take.channel).option("--reference-channel", take.reference_channel);
  for (const std::string& load : take.load) line.option("--load", load);
  line.option("--road-speed", take.road_speed).flag("--background", take.background);
  if (!take.note.empty()) line.option("--note", take.note);
  return line.text();
}

}  // namespace howl
