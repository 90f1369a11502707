#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "src/cli/commands.h"
#include "src/cli/describe.h"
#include "src/cli/standard_streams.h"
#include "src/entry/typed_case.h"

namespace howl {
namespace {

void make_case(const TypedCase& typed) {
  const Case value = begin_case(typed);
  print_result(fmt::format("Made the case {}. Its probe points:\n{}", typed.folder,
                           describe_points(value.points)));
}

}  // namespace

void add_new_command(CLI::App& program, Session& /*session*/) {
  const auto options = std::make_shared<TypedCase>();
  CLI::App* command =
      program.add_subcommand("new", "Start a case: one noise complaint on one vehicle");
  command->footer(
      "howlpoint new whine --profile transverse-four-automatic --title \"Whine from 1500 rpm\"");
  command->add_option("CASE", options->folder, "Folder to make for the case")->required();
  command
      ->add_option("--profile", options->profile,
                   "Vehicle layout whose probe points the case gets;\n"
                   "a name from 'howlpoint profiles', or a .toml file (required)")
      ->type_name("NAME")
      ->required();
  command->add_option("--title", options->title, "The complaint, in a few words")
      ->type_name("TEXT");
  command->callback([options] { make_case(*options); });
}

}  // namespace howl
