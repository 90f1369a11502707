#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/demo/demo_cases.h"
#include "src/entry/names.h"

namespace howl {
namespace {

void make_demo(const std::string& folder, Session& session) {
  const Progress progress = session.progress();
  std::vector<std::string> cases;
  make_demo_cases(folder, [&](const std::string& name, std::size_t done, std::size_t takes) {
    const auto path = (std::filesystem::path(folder) / name).string();
    if (cases.empty() || cases.back() != path) cases.push_back(path);
    progress(static_cast<double>(done) / static_cast<double>(takes), "making " + name);
  });
  session.progress_line.clear();
  print_result(joined(cases, "\n") + "\n");
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
