#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <string>
#include <variant>

#include "src/case/case.h"
#include "src/case/find_take.h"
#include "src/cli/commands.h"
#include "src/cli/describe.h"
#include "src/cli/standard_streams.h"
#include "src/cli/take_options.h"
#include "src/cli/tell_mended.h"
#include "src/entry/typed_take.h"
#include "src/keeping/exchange_case.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

struct RemoveOptions {
  std::string folder;
  std::string take;
};

/// Where a file of the take lies now: one that could not be moved stays.
std::string place_now(const std::filesystem::path& folder, const std::string& file) {
  const std::filesystem::path aside = folder / set_aside_folder / file;
  return (std::filesystem::exists(aside) ? aside : folder / file).string();
}

std::string farewell(const std::filesystem::path& folder, const Take& take) {
  const std::string recording = place_now(folder, take.recording);
  TypedTake typed = typed_take_of(take);
  if (const auto* logged = std::get_if<LoggedSpeed>(&take.speed))
    typed.log = place_now(folder, logged->log);
  return "Removed " + describe_take(take) +
         printable(fmt::format("  Its recording is kept: {}", recording)) + "\n" +
         printable("  To have it back: " + add_line(folder.string(), recording, typed)) + "\n";
}

void remove_take(const RemoveOptions& options, const Session& session) {
  tell_mended(options.folder, session);
  const Case before = load_case(options.folder);
  const Case after = taken_out(before, options.take);
  exchange_case(options.folder, before, after);
  print_result(farewell(options.folder, *find_take(before, options.take)));
}

}  // namespace

void add_remove_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<RemoveOptions>();
  CLI::App* command = program.add_subcommand(
      "remove", "Take a take out of a case; its recording is kept in 'set-aside'");
  command->footer("howlpoint remove whine t02");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command->add_option("TAKE", options->take, "The take: t01, t02 … (howlpoint analyse lists them)")
      ->required();
  command->callback([options, &session] { remove_take(*options, session); });
}

}  // namespace howl
