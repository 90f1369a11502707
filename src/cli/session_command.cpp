#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "src/cli/commands.h"
#include "src/cli/describe.h"
#include "src/cli/key_watch.h"
#include "src/cli/record_options.h"
#include "src/cli/standard_streams.h"
#include "src/cli/stop_signals.h"
#include "src/cli/take_options.h"
#include "src/cli/take_warnings.h"
#include "src/cli/tell_mended.h"
#include "src/cli/watched_recording.h"
#include "src/entry/typed_values.h"
#include "src/errors.h"
#include "src/keeping/add_take.h"
#include "src/record/gain_hint.h"
#include "src/record/portaudio_system.h"
#include "src/record/run_session.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

constexpr std::string_view usual_seconds = "10";
constexpr std::string_view usual_countdown = "3";

struct SessionOptions {
  std::string folder;
  std::vector<std::string> points;
  std::string holds;
  bool repeat{};
  TakeOptions take;
  RecordOptions record;
};

// ---- asking ----

/// What a person types: one key in a terminal, else the first letter of a line, with what follows
/// it. None: nobody is there any more, or a signal ends the program.
struct Typed {
  char key{};
  std::string rest;
};

std::optional<Typed> typed_line(const KeyWatch& keys) {
  const auto line = keys.line();
  if (!line) return std::nullopt;
  if (line->empty()) return Typed{.key = '\n', .rest = {}};
  const auto rest = line->find_first_not_of(' ', 1);
  return Typed{.key = line->front(),
               .rest = rest == std::string::npos ? std::string{} : line->substr(rest)};
}

/// The person's end of a session.
struct Person {
  const StopSignals& signals;
  const KeyWatch& keys;
};

std::optional<Typed> typed(const Person& person) {
  constexpr std::chrono::milliseconds look_every{30};
  if (!person.keys.possible()) return typed_line(person.keys);
  while (!person.signals.asked()) {
    if (const auto key = person.keys.key()) return Typed{.key = *key, .rest = {}};
    std::this_thread::sleep_for(look_every);
  }
  return std::nullopt;
}

/// Asks until one of `known` is given; Enter stands for the first. 0: the session ends.
Typed ask(const Person& person, const std::string& question, std::string_view known) {
  for (;;) {
    print_message(question);
    auto answer = typed(person);
    if (!answer) return {};
    if (answer->key == '\n' || answer->key == ' ') answer->key = known.front();
    if (known.find(answer->key) != std::string_view::npos) return *std::move(answer);
  }
}

std::string name_of_device(const Person& person, const Typed& typed) {
  if (!typed.rest.empty()) return typed.rest;
  print_message("Number or name of the device ('howlpoint devices' lists them):");
  return person.keys.line().value_or("");
}

std::string hold_text(const SpeedSource& speed) {
  const auto* entered = std::get_if<EnteredSpeed>(&speed);
  return entered == nullptr ? "engine off" : fmt::format("{:g} rpm", entered->speed.value);
}

ReadyAnswer ask_ready(const Person& person, const SessionStep& step, std::size_t number,
                      std::size_t count) {
  const Typed typed =
      ask(person,
          fmt::format("{} of {}: {}, {}. Enter records; s skips, d takes another device, q ends",
                      number, count, printable(step.point), hold_text(step.speed)),
          "rsdq");
  switch (typed.key) {
    case 'r':
      return {.kind = ReadyAnswer::Kind::record, .device = {}};
    case 's':
      return {.kind = ReadyAnswer::Kind::skip, .device = {}};
    case 'd':
      return {.kind = ReadyAnswer::Kind::other_device, .device = name_of_device(person, typed)};
    default:
      return {.kind = ReadyAnswer::Kind::end, .device = {}};
  }
}

// ---- the verdict ----

std::vector<std::string> verdict_lines(const RecordedSound& sound, const TakeVerdict& verdict,
                                       const RecordOrder& pattern) {
  std::vector<std::string> lines;
  for (const std::string& fault : verdict.faults) lines.push_back("  " + printable(fault));
  if (const auto lost = sound.status.overruns.size(); lost > 0)
    lines.push_back(fmt::format("  sound was lost in {} place{}", lost, lost == 1 ? "" : "s"));
  const auto probe = static_cast<std::size_t>(pattern.take.channel - 1);
  if (const auto hint = gain_hint(sound.status.meters.at(probe)))
    lines.push_back("  gain: " + *hint);
  if (lines.empty()) lines.emplace_back("  good");
  if (verdict.heard_rpm)
    lines.push_back(fmt::format("  engine speed by the sound: {:.0f} rpm", *verdict.heard_rpm));
  return lines;
}

VerdictAnswer ask_verdict(const Person& person, const RecordedSound& sound,
                          const TakeVerdict& verdict, const RecordOrder& pattern) {
  for (const std::string& line : verdict_lines(sound, verdict, pattern)) print_message(line);
  const bool spoilt = verdict.worst == Severity::spoilt;
  const Typed typed =
      ask(person,
          spoilt ? "Enter records it again; k keeps it as it is, s skips, q ends without it"
                 : "Enter keeps it; a records it again, s skips, q ends without it",
          spoilt ? "aksq" : "kasq");
  switch (typed.key) {
    case 'k':
      return VerdictAnswer::keep;
    case 'a':
      return VerdictAnswer::again;
    case 's':
      return VerdictAnswer::skip;
    default:
      return VerdictAnswer::end;
  }
}

// ---- the plan ----

/// The named points, or all of the case.
std::vector<std::string> points_of(const SessionOptions& options, const Case& value) {
  std::vector<std::string> known;
  for (const ProbePoint& point : value.points) known.push_back(point.name);
  for (const std::string& point : options.points)
    if (std::ranges::find(known, point) == known.end()) throw no_such_point(point, known);
  if (known.empty())
    throw Error(Fault::command, options.folder, "the case has no probe points",
                "record the first with 'record --new-point'");
  return options.points.empty() ? known : options.points;
}

/// What of it is to be recorded now.
std::vector<SessionStep> rest_of(const std::vector<SessionStep>& all, const SessionOptions& options,
                                 const Case& value, const Take& pattern) {
  if (options.repeat) return all;
  auto left = steps_left(all, value, pattern);
  if (left.size() < all.size())
    print_message(fmt::format("{} of {} are in the case already; --repeat records them again",
                              all.size() - left.size(), all.size()));
  return left;
}

RecordOrder pattern_of(SessionOptions options, const std::vector<SoundDevice>& devices) {
  if (!options.record.seconds) options.record.seconds = usual_seconds;
  if (!options.record.countdown) options.record.countdown = usual_countdown;
  options.take.point = "-";  // each step has its own
  options.take.rpm = "0";
  return record_order(options.record, options.folder, take_of(options.take), false, devices);
}

void run(const SessionOptions& options, Session& session) {
  tell_mended(options.folder, session);
  const Case value = load_case(options.folder);
  const std::vector<SessionStep> plan =
      session_steps(points_of(options, value), holds_of(options.holds, "--rpm"));
  const RecordOrder pattern = pattern_of(options, portaudio_system()->devices());
  const std::vector<SessionStep> steps = rest_of(plan, options, value, pattern.take);
  tell_cautions(pattern.take);
  const StopSignals signals;
  const KeyWatch keys;
  const Person person{.signals = signals, .keys = keys};
  SessionTalk talk;
  talk.ready = [&](const SessionStep& step, std::size_t number, std::size_t count) {
    return ask_ready(person, step, number, count);
  };
  talk.watch = watch_in_terminal(pattern, session, signals, keys);
  talk.judge = [&](const RecordedSound& sound, const TakeVerdict& verdict) {
    session.progress_line.clear();
    return ask_verdict(person, sound, verdict, pattern);
  };
  talk.kept = [](const AddedTake& added) { print_result("Recorded " + describe_take(added.take)); };
  talk.tell = [&](const std::string& text) {
    session.progress_line.clear();
    print_message("warning: " + printable(text));
  };
  const SessionOutcome outcome =
      run_session(portaudio_system, pattern, options.record.device, steps, talk);
  print_result(fmt::format("{} of {} recorded{}{}\n", outcome.kept, steps.size(),
                           outcome.skipped > 0 ? fmt::format(", {} skipped", outcome.skipped) : "",
                           outcome.ended_early ? "; ended early" : ""));
}

}  // namespace

void add_session_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<SessionOptions>();
  CLI::App* command = program.add_subcommand(
      "session", "Record point after point, hold after hold, and judge each take at once");
  command->footer("howlpoint session whine --rpm 900,1800,2500 --seconds 10");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command
      ->add_option("--rpm", options->holds,
                   "Steady speeds to record at each point (required);\n0: the engine is off")
      ->type_name("N1,N2,...")
      ->required();
  command
      ->add_option("--point", options->points,
                   "A probe point to go to; repeat for more (default: all\nof the case)")
      ->type_name("NAME")
      ->expected(1)
      ->take_all();
  command->add_flag("--repeat", options->repeat, "Record also what the case has already");
  describe_record_options(*command, options->record);
  command->get_option("--seconds")->description("Length of each take (default 10)");
  command->get_option("--countdown")->description("Seconds to wait before each (default 3)");
  describe_other_take_options(*command, options->take);
  command->callback([options, &session] { run(*options, session); });
}

}  // namespace howl
