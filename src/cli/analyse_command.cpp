#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "src/case/case.h"
#include "src/cli/band_options.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/cli/tell_mended.h"
#include "src/reasoning/diagnose.h"
#include "src/report/analysis_json.h"
#include "src/report/analysis_table.h"

namespace howl {
namespace {

struct AnalyseOptions {
  std::string folder;
  BandOptions band;
  bool json{};
};

void analyse_and_print(const AnalyseOptions& options, Session& session) {
  const AnalysisRequest request = options.band.request();
  tell_mended(options.folder, session);
  const Case value = load_case(options.folder);
  const Analysis analysis = diagnose(options.folder, value, request, session.progress());
  session.progress_line.clear();
  print_result(options.json ? analysis_json(value, analysis) : analysis_table(value, analysis));
}

}  // namespace

void add_analyse_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<AnalyseOptions>();
  CLI::App* command = program.add_subcommand(
      "analyse", "Say which tones howl, how their pitch behaves, and where it is loudest");
  command->footer("howlpoint analyse whine --band 300:400");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  options->band.describe(*command);
  command->add_flag("--json", options->json, "Print everything as JSON, for other programs");
  command->callback([options, &session] { analyse_and_print(*options, session); });
}

}  // namespace howl
