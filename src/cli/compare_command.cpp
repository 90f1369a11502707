#include <CLI/CLI.hpp>
#include <memory>
#include <string>
#include <vector>

#include "src/analysis/comparison.h"
#include "src/cli/band_options.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/entry/typed_values.h"
#include "src/report/comparison_json.h"
#include "src/report/comparison_table.h"

namespace howl {
namespace {

struct CompareOptions {
  std::string before;
  std::string after;
  BandOptions band;
  std::vector<std::string> renamed;
  bool json{};
};

void compare_and_print(const CompareOptions& options, Session& session) {
  const ComparisonRequest request{options.band.request(), point_pairs_of(options.renamed, "--map")};
  const Comparison comparison =
      compare_cases(options.before, options.after, request, session.progress());
  session.progress_line.clear();
  const Case before = load_case(options.before);
  const Case after = load_case(options.after);
  print_result(options.json ? comparison_json(before, after, comparison)
                            : comparison_table(before, after, comparison));
}

}  // namespace

void add_compare_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<CompareOptions>();
  CLI::App* command = program.add_subcommand(
      "compare", "Say whether a howl is gone after a repair, and what is new");
  command->footer("howlpoint compare whine whine-after-repair");
  command->add_option("BEFORE", options->before, "Folder of the case before the repair")
      ->required();
  command->add_option("AFTER", options->after, "Folder of the case after it")->required();
  options->band.describe(*command);
  command
      ->add_option("--map", options->renamed,
                   "A probe point that has another name after the repair;\nmay be repeated")
      ->type_name("BEFORE=AFTER")
      ->expected(1)
      ->take_all();
  command->add_flag("--json", options->json, "Print everything as JSON, for other programs");
  command->callback([options, &session] { compare_and_print(*options, session); });
}

}  // namespace howl
