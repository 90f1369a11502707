#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/cli/commands.h"
#include "src/cli/spooled_input.h"
#include "src/cli/take_options.h"
#include "src/cli/take_warnings.h"
#include "src/cli/tell_mended.h"
#include "src/keeping/add_take.h"

namespace howl {
namespace {

struct AddOptions {
  std::string folder;
  std::string recording;
  TakeOptions take;
};

void add(const AddOptions& options, const Session& session) {
  NewTake request = new_take_of(options.recording, options.take);
  require_log_file(options.take);
  require_point(load_case(options.folder).points, options.take);

  tell_mended(options.folder, session);
  std::optional<SpooledInput> spooled;
  if (options.recording == "-") request.recording = spooled.emplace().file();
  tell_stored_take("Added", options.folder, add_take(options.folder, request), session);
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
  describe_point_options(*command, options->take);
  describe_speed_options(*command, options->take, true);
  describe_other_take_options(*command, options->take);
  command->callback([options, &session] { add(*options, session); });
}

}  // namespace howl
