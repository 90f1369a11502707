#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "src/case/about.h"
#include "src/case/case.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/entry/typed_case.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

struct AboutOptions {
  std::string folder;
  std::optional<std::string> title;
  std::map<std::string_view, std::optional<std::string>> entered;  ///< by key
};

bool enters_something(const AboutOptions& options) {
  if (options.title) return true;
  for (const auto& [key, text] : options.entered)
    if (text) return true;
  return false;
}

void enter_about(const AboutOptions& options) {
  if (options.title) require_title(*options.title);
  update_case(options.folder, [&](Case& value) {
    if (options.title) value.title = *options.title;
    for (const AboutField& field : about_fields)
      if (const auto& text = options.entered.at(field.key)) value.about.*field.value = *text;
  });
}

std::string about_list(const Case& value) {
  std::string text = wrapped_item(fmt::format("{:<13}", "Title:"), value.title, 0, 80);
  for (const AboutField& field : about_fields) {
    const std::string& entered = value.about.*field.value;
    text += wrapped_item(fmt::format("{:<13}", std::string(field.label) + ":"),
                         entered.empty() ? "-" : entered, 0, 80);
  }
  return text;
}

void run_about(const AboutOptions& options) {
  if (enters_something(options)) enter_about(options);
  print_result(about_list(load_case(options.folder)));
}

}  // namespace

void add_about_command(CLI::App& program, Session& /*session*/) {
  const auto options = std::make_shared<AboutOptions>();
  CLI::App* command = program.add_subcommand(
      "about", "Enter what a report says of vehicle and customer, or list it");
  command->footer(
      "howlpoint about whine --vehicle \"saloon, 182 000 km\" --by \"R. Example\" --on 2026-05-04");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command->add_option("--title", options->title, "The complaint, in a few words")
      ->type_name("TEXT");
  for (const AboutField& field : about_fields)
    command
        ->add_option(std::string(field.option), options->entered[field.key],
                     std::string(field.help))
        ->type_name("TEXT");
  command->callback([options] { run_about(*options); });
}

}  // namespace howl
