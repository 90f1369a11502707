#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/errors.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

void check(const std::string& folder) {
  const std::vector<CaseFinding> findings = check_case(folder);
  if (findings.empty()) {
    print_result(folder + ": whole\n");
    return;
  }
  std::string text;
  for (const CaseFinding& finding : findings)
    text +=
        printable(fmt::format("{}: {}; {}", finding.where, finding.problem, finding.remedy)) + "\n";
  print_result(text);
  throw Error(Fault::file, folder,
              findings.size() == 1 ? "one problem was found"
                                   : fmt::format("{} problems were found", findings.size()),
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
