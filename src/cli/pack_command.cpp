#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/handover/pack.h"

namespace howl {
namespace {

struct PackOptions {
  std::string from;
  std::string to;
};

void pack(const PackOptions& options, Session& session) {
  handover::pack_case(options.from, options.to, session.progress());
  session.progress_line.clear();
  print_result(options.to + "\n");
}

void unpack(const PackOptions& options, Session& session) {
  handover::unpack_case(options.from, options.to, {}, session.progress());
  session.progress_line.clear();
  print_result(options.to + ": whole\n");
}

}  // namespace

void add_pack_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<PackOptions>();
  CLI::App* command = program.add_subcommand("pack", "Pack a case into one file, to hand over");
  command->footer("howlpoint pack whine --out whine.zip");
  command->add_option("CASE", options->from, "Folder of the case")->required();
  command->add_option("--out", options->to, "File to write, a ZIP (required)")
      ->type_name("FILE")
      ->required();
  command->callback([options, &session] { pack(*options, session); });
}

void add_unpack_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<PackOptions>();
  CLI::App* command = program.add_subcommand(
      "unpack", "Unpack a case that somebody packed, and check that it is whole");
  command->footer("howlpoint unpack whine.zip whine");
  command->add_option("FILE", options->from, "File that howlpoint pack wrote")->required();
  command->add_option("FOLDER", options->to, "Folder to make for the case")->required();
  command->callback([options, &session] { unpack(*options, session); });
}

}  // namespace howl
