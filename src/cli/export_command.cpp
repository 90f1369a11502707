#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "src/case/case.h"
#include "src/cli/band_options.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/entry/names.h"
#include "src/files/new_folder.h"
#include "src/handover/export.h"
#include "src/reasoning/diagnose.h"

namespace howl {
namespace {

struct ExportOptions {
  std::string folder;
  std::string out;
  BandOptions band;
};

void export_as_asked(const ExportOptions& options, Session& session) {
  const AnalysisRequest request = options.band.request();
  const Case value = load_case(options.folder);
  { const NewFolder probe(options.out); }  // a place where nothing can be made, before the work
  const Analysis analysis = diagnose(options.folder, value, request, session.progress());
  const std::vector<std::string> files = handover::export_case(
      options.folder, value, analysis, request, options.out, session.progress());
  session.progress_line.clear();
  std::string text;
  for (const std::string& file : files) text += options.out + "/" + file + "\n";
  print_result(text);
}

}  // namespace

void add_export_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<ExportOptions>();
  CLI::App* command = program.add_subcommand(
      "export", "Write every table as CSV and JSON, and every picture for print");
  command->footer("howlpoint export whine --out whine-tables");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command->add_option("--out", options->out, "Folder to make (required)")
      ->type_name("FOLDER")
      ->required();
  options->band.describe(*command);
  command->callback([options, &session] { export_as_asked(*options, session); });
}

}  // namespace howl
