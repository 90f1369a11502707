#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "src/case/case.h"
#include "src/case/find_take.h"
#include "src/cli/commands.h"
#include "src/cli/describe.h"
#include "src/cli/standard_streams.h"
#include "src/cli/take_options.h"
#include "src/cli/take_warnings.h"
#include "src/cli/tell_mended.h"
#include "src/entry/typed_change.h"
#include "src/keeping/exchange_case.h"

namespace howl {
namespace {

struct ChangeOptions {
  std::string folder;
  std::string take;
  TypedChange change;
};

std::string reply(const Take& was, const Take& now) {
  const std::string table = describe_change(was, now);
  return table.empty() ? "Nothing changes: " + describe_take(now)
                       : "Changed " + describe_take(now) + table;
}

void change(const ChangeOptions& options, const Session& session) {
  require_log_file(options.change.given);
  tell_mended(options.folder, session);
  const Case before = load_case(options.folder);
  const Take& was = take_of_case(before, options.take, "take " + options.take);
  const TypedTake typed = typed_after(was, options.change);
  require_point(before.points, typed);
  const ChangedTake changed = change_take(options.folder, before, was.id, facts_of(typed));
  const Take& now = take_of_case(changed.value, was.id, "take " + was.id);
  std::string text = reply(was, now);
  if (changed.found) text += found_lines(*changed.found, options.folder, now.id);
  print_result(text);
  tell_take_warnings(options.folder, now, changed.warnings, session);
}

}  // namespace

void add_change_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<ChangeOptions>();
  CLI::App* command = program.add_subcommand(
      "change", "Put right what was said of a take: its point, speed, load …");
  command->footer(
      "howlpoint change whine t02 --rpm 1750\n"
      "howlpoint change whine t02 --point \"alternator bracket\" --load ac=on --forget note");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command->add_option("TAKE", options->take, "The take: t01, t02 … (howlpoint analyse lists them)")
      ->required();
  describe_change_options(*command, options->change);
  command->callback([options, &session] { change(*options, session); });
}

}  // namespace howl
