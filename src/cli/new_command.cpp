#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <string>

#include "src/case/case.h"
#include "src/cli/commands.h"
#include "src/cli/describe.h"
#include "src/cli/standard_streams.h"
#include "src/profile/profile.h"

namespace howl {
namespace {

struct NewOptions {
  std::string folder;
  std::string profile;
  std::string title;
};

std::string folder_name(const std::filesystem::path& folder) {
  const auto whole = std::filesystem::absolute(folder).lexically_normal();
  return (whole.has_filename() ? whole : whole.parent_path()).filename().string();
}

void make_case(const NewOptions& options) {
  const Profile profile = load_profile(options.profile);
  Case value;
  value.title = options.title.empty() ? folder_name(options.folder) : options.title;
  value.profile = profile.name;
  value.cylinders = profile.cylinders;
  value.points = profile.points;
  create_case(options.folder, value, profile.toml);
  print_result(fmt::format("Made the case {}. Its probe points:\n{}", options.folder,
                           describe_points(value.points)));
}

}  // namespace

void add_new_command(CLI::App& program, Session& /*session*/) {
  const auto options = std::make_shared<NewOptions>();
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
