#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <iterator>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "src/case/case.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/errors.h"
#include "src/handover/check_manifest.h"
#include "src/keeping/check_case.h"
#include "src/keeping/unfinished_take.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

struct CheckOptions {
  std::string folder;
  std::optional<std::string> report;
};

/// Reports that rest on the case: the one that was named, or those that lie near it.
std::vector<std::filesystem::path> reports_to_check(const CheckOptions& options) {
  if (options.report) return {*options.report};
  return handover::reports_near(options.folder);
}

std::vector<CaseFinding> findings_of(const CheckOptions& options) {
  std::vector<CaseFinding> findings = check_case(options.folder);
  for (const std::filesystem::path& report : reports_to_check(options))
    std::ranges::move(handover::check_manifest(options.folder, handover::manifest_of_report(report),
                                               report.filename().string()),
                      std::back_inserter(findings));
  return findings;
}

/// Mends what was never finished, and says so; what cannot be mended is a finding.
std::vector<std::string> problems_of(const CheckOptions& options) {
  const std::string& folder = options.folder;
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
  for (const CaseFinding& finding : findings_of(options)) {
    std::string text = fmt::format("{}: {}; {}", finding.where, finding.problem, finding.remedy);
    if (std::ranges::find(problems, text) == problems.end()) problems.push_back(std::move(text));
  }
  return problems;
}

void check(const CheckOptions& options) {
  const std::string& folder = options.folder;
  const std::vector<std::string> problems = problems_of(options);
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
  const auto options = std::make_shared<CheckOptions>();
  CLI::App* command = program.add_subcommand(
      "check", "Check that a case is whole: nothing missing, nothing changed");
  command->footer(
      "howlpoint check whine\n"
      "howlpoint check whine --report whine.pdf");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command
      ->add_option("--report", options->report,
                   "Check the case against this report, too (default: those\n"
                   "about it in its folder and beside it)")
      ->type_name("FILE");
  command->callback([options] { check(*options); });
}

}  // namespace howl
