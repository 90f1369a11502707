#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "src/cli/commands.h"
#include "src/cli/describe.h"
#include "src/cli/standard_streams.h"
#include "src/profile/profile.h"
#include "src/report/profile_table.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

std::string list_of_profiles() {
  TextColumns table({{.heading = "profile", .widest = 30}, {.heading = "for", .widest = 66}});
  for (const Profile& profile : list_profiles()) table.add({profile.name, profile.title});
  return table.text();
}

std::string description_of(const Profile& profile) {
  std::string text = wrapped(profile.title, 0, 96);
  if (!profile.description.empty()) text += wrapped(profile.description, 0, 96);
  text += profile.cylinders ? fmt::format("Cylinders: {}; fires at order {:g}\n",
                                          *profile.cylinders, 0.5 * *profile.cylinders)
                            : std::string("Cylinders: not known\n");
  text += "\n" + describe_points(profile.points);
  const std::string sources = profile_table(profile);
  return sources.empty() ? text : text + "\n" + sources;
}

}  // namespace

void add_profiles_command(CLI::App& program, Session& /*session*/) {
  const auto name = std::make_shared<std::string>();
  CLI::App* command = program.add_subcommand(
      "profiles", "List the vehicle layouts that a case can start from, or say what one expects");
  command->footer("howlpoint profiles transverse-four-automatic");
  command->add_option("NAME", *name, "Layout to describe, or a .toml file");
  command->callback([name] {
    print_result(name->empty() ? list_of_profiles() : description_of(load_profile(*name)));
  });
}

}  // namespace howl
