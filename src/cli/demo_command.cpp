#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/demo/demo.h"

namespace howl {
namespace {

void make_demo(const std::string& folder, Session& session) {
  std::string text;
  for (const std::string& name : make_demo_cases(folder, session.progress())) text += name + "\n";
  session.progress_line.clear();
  print_result(text);
}

}  // namespace

void add_demo_command(CLI::App& program, Session& session) {
  const auto folder = std::make_shared<std::string>();
  CLI::App* command = program.add_subcommand(
      "demo", "Make cases with computed recordings, to try the program without a vehicle");
  command->footer("howlpoint demo try-out");
  command->add_option("FOLDER", *folder, "Folder to make the cases in")->required();
  command->callback([folder, &session] { make_demo(*folder, session); });
}

}  // namespace howl
