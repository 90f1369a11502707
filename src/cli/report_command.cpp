#include <CLI/CLI.hpp>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "src/case/case.h"
#include "src/cli/band_options.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/document/report_of.h"
#include "src/document/write_report.h"
#include "src/entry/typed_values.h"
#include "src/errors.h"
#include "src/files/part_file.h"

namespace howl {
namespace {

struct ReportOptions {
  std::string folder;
  std::string out;
  std::string paper{"a4"};
  std::vector<std::string> after;
  std::vector<std::string> before;
  std::vector<std::string> renamed;
  BandOptions band;
};

document::Paper paper_of(const std::string& name) {
  if (name == "a4") return document::Paper::a4;
  if (name == "letter") return document::Paper::letter;
  throw Error(Fault::command, "--paper " + name, "there is no such paper",
              "write --paper a4 or --paper letter");
}

void make_report(const ReportOptions& options, Session& session) {
  const document::ReportFormat format = document::report_format_of(options.out);
  const document::Paper paper = paper_of(options.paper);
  document::ReportRequest request;
  request.analysis = options.band.request();
  request.after.assign(options.after.begin(), options.after.end());
  request.before.assign(options.before.begin(), options.before.end());
  request.renamed = point_pairs_of(options.renamed, "--map");
  request.with_clips = format == document::ReportFormat::html;
  { const PartFile probe(options.out); }  // a place where nothing can be written, before the work
  const document::Document report =
      document::report_of(options.folder, request, session.progress());
  document::write_report(report, paper, options.out);
  session.progress_line.clear();
  print_result(options.out + "\n");
}

}  // namespace

void add_report_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<ReportOptions>();
  CLI::App* command = program.add_subcommand(
      "report", "Write a report that a person can read who was not there: PDF or HTML");
  command->footer(
      "howlpoint report whine --out whine.pdf\n"
      "howlpoint report whine --out whine.html --after whine-after-repair");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command
      ->add_option("--out", options->out,
                   "File to write: .pdf for paper, .html with sound to\nlisten to (required)")
      ->type_name("FILE")
      ->required();
  command->add_option("--paper", options->paper, "a4 or letter, of a PDF (default: a4)")
      ->type_name("SIZE");
  command
      ->add_option("--after", options->after,
                   "A case recorded later, after a repair, to compare\nwith; may be repeated")
      ->type_name("CASE")
      ->expected(1)
      ->take_all();
  command
      ->add_option(
          "--before", options->before,
          "A case recorded before a repair, where CASE is one\nof after it; may be repeated")
      ->type_name("CASE")
      ->expected(1)
      ->take_all();
  command
      ->add_option("--map", options->renamed,
                   "A probe point that has another name in it; may be\nrepeated")
      ->type_name("BEFORE=AFTER")
      ->expected(1)
      ->take_all();
  options->band.describe(*command);
  command->callback([options, &session] { make_report(*options, session); });
}

}  // namespace howl
