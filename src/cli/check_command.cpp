#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "src/case/case.h"
#include "src/case/unfinished_take.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/errors.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

/// Mends what was never finished, and says so; what cannot be mended is a finding.
std::vector<std::string> problems_of(const std::string& folder) {
  std::vector<std::string> problems;
  const auto mend = [&] {
    for (const Mending& mending : mend_unfinished(folder)) {
      const std::string text = fmt::format("{}: {}", mending.recording, mending.outcome);
      if (mending.settled)
        print_result(printable(text) + "\n");
      else
        problems.push_back(text);
    }
  };
  try {
    mend();
  } catch (const Error& error) {
    problems.emplace_back(error.what());
  }
  for (const CaseFinding& finding : check_case(folder)) {
    std::string text = fmt::format("{}: {}; {}", finding.where, finding.problem, finding.remedy);
    if (std::ranges::find(problems, text) == problems.end()) problems.push_back(std::move(text));
  }
  return problems;
}

void check(const std::string& folder) {
  const std::vector<std::string> problems = problems_of(folder);
  if (problems.empty()) {
    print_result(folder + ": whole\n");
    return;
  }
  std::string text;
  for (const std::string& problem : problems) text += printable(problem) + "\n";
  print_result(text);
  throw Error(Fault::file, folder,
              problems.size() == 1 ? "one problem was found"
                                   : fmt::format("{} problems were found", problems.size()),
              "do as said above, then check again");
}

}  // namespace

void add_check_command(CLI::App& program, Session& /*session*/) {
  const auto folder = std::make_shared<std::string>();
  CLI::App* command = program.add_subcommand(
      "check", "Check that a case is whole: nothing missing, nothing changed");
  command->footer("howlpoint check whine");
  command->add_option("CASE", *folder, "Folder of the case")->required();
  command->callback([folder] { check(*folder); });
}

}  // namespace howl
