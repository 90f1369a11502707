#include "src/cli/run.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <exception>
#include <filesystem>
#include <new>
#include <string>
#include <vector>

#include "src/cli/commands.h"
#include "src/cli/help_format.h"
#include "src/cli/session.h"
#include "src/cli/standard_streams.h"
#include "src/entry/names.h"
#include "src/errors.h"
#include "src/version.h"

namespace howl {
namespace {

constexpr int exit_done = 0;

int exit_status(Fault fault) { return static_cast<int>(fault); }

bool is_named(const CLI::Option* option) { return option->nonpositional(); }

std::vector<std::string> command_names(const CLI::App& program) {
  std::vector<std::string> names;
  for (const CLI::App* command : program.get_subcommands(nullptr))
    names.push_back(command->get_name());
  return names;
}

/// "howlpoint add", once the command is known; else "howlpoint".
std::string running_name(const CLI::App& program) {
  const auto chosen = program.get_subcommands();
  return chosen.empty() ? program.get_name()
                        : program.get_name() + " " + chosen.front()->get_name();
}

void require_known_command(const CLI::App& program, int argc, const char* const* argv) {
  const std::vector<std::string> names = command_names(program);
  if (argc < 2)
    throw Error(Fault::command, "nothing to do", "name a command: " + joined(names, ", "),
                "see howlpoint --help");
  const std::string first = argv[1];
  if (first.starts_with('-') || std::ranges::find(names, first) != names.end()) return;
  throw Error(Fault::command, "'" + first + "'", "there is no such command",
              did_you_mean(first, names) + "see howlpoint --help");
}

void describe_program(CLI::App& program, Session& session) {
  program.name("howlpoint");
  program.formatter(std::make_shared<HelpFormat>());
  program.footer(
      "howlpoint new whine --profile transverse-four-automatic --title \"Whine at idle\"\n"
      "howlpoint add whine pan.wav --point \"transmission pan\" --rpm 1800\n"
      "howlpoint analyse whine");
  program.set_help_flag("-h,--help", "Explain the program or a command, and stop");
  program.set_version_flag("--version", std::string("howlpoint ") + version,
                           "Print the program's version, and stop");
  program.add_flag("--quiet", session.quiet, "No progress and no messages other than errors");
  program.require_subcommand(1);
}

void add_commands(CLI::App& program, Session& session) {
  add_new_command(program, session);
  add_about_command(program, session);
  add_add_command(program, session);
  add_change_command(program, session);
  add_remove_command(program, session);
  add_devices_command(program, session);
  add_record_command(program, session);
  add_session_command(program, session);
  add_analyse_command(program, session);
  add_evidence_command(program, session);
  add_compare_command(program, session);
  add_picture_command(program, session);
  add_report_command(program, session);
  add_isolate_command(program, session);
  add_export_command(program, session);
  add_check_command(program, session);
  add_pack_command(program, session);
  add_unpack_command(program, session);
  add_profiles_command(program, session);
  add_bearing_command(program, session);
  add_demo_command(program, session);
  for (CLI::App* command : program.get_subcommands(nullptr))
    command->fallthrough()->group("Commands");
}

/// What the program could not make sense of: the first option among it, else the first word.
[[noreturn]] void refuse_extras(const CLI::App& program) {
  const CLI::App& command = *program.get_subcommands().front();
  const std::vector<std::string> extras = program.remaining(true);
  const auto is_option = [](const std::string& text) { return text.starts_with('-'); };
  const auto option = std::ranges::find_if(extras, is_option);
  if (option == extras.end())
    throw Error(
        Fault::command, "'" + extras.front() + "'", "there is no place for this word",
        "put words that belong together in quotes; see " + running_name(program) + " --help");
  std::vector<std::string> known;
  for (const CLI::Option* each : command.get_options(is_named)) known.push_back(each->get_name());
  throw Error(Fault::command, *option, "there is no such option",
              did_you_mean(*option, known) + "see " + running_name(program) + " --help");
}

void parse_and_run(CLI::App& program, int argc, const char* const* argv) {
  require_known_command(program, argc, argv);
  try {
    program.parse(argc, argv);
  } catch (const CLI::CallForHelp&) {
    print_result(program.help());
  } catch (const CLI::CallForVersion&) {
    print_result(program.version() + "\n");
  } catch (const CLI::ExtrasError&) {
    refuse_extras(program);
  } catch (const CLI::ParseError& error) {
    throw Error(Fault::command, "command line", error.what(),
                "see " + running_name(program) + " --help");
  }
}

}  // namespace

int run_command_line(int argc, const char* const* argv) {
  prepare_standard_streams();
  Session session;
  CLI::App program(
      "Finds what makes a vehicle whine, and where: ranks the places that a contact\n"
      "microphone touched, and tells tones that follow the engine from tones that do not.");
  const auto fail = [&](Fault fault, const std::string& text) {
    session.progress_line.clear();
    print_message(running_name(program) + ": " + text);
    return exit_status(fault);
  };
  try {
    describe_program(program, session);
    add_commands(program, session);
    parse_and_run(program, argc, argv);
    return exit_done;
  } catch (const Error& error) {
    return fail(error.fault(), error.what());
  } catch (const std::bad_alloc&) {
    return fail(Fault::machine, "memory: there is not enough; close other programs and try again");
  } catch (const std::filesystem::filesystem_error& error) {
    return fail(Fault::machine,
                error.path1().string() + ": " + error.code().message() + "; check folder and disk");
  } catch (const std::exception& error) {
    return fail(Fault::machine, std::string("a fault in the program itself: ") + error.what() +
                                    "; please report it");
  }
}

}  // namespace howl
