#include "src/cli/help_format.h"

#include <utility>

namespace howl {

HelpFormat::HelpFormat() {
  column_width(26);
  label("Positionals", "Arguments");
  label("SUBCOMMAND", "COMMAND");
  label("OPTIONS", "options");
}

std::string HelpFormat::make_description(const CLI::App* app) const {
  std::string text = app->get_description() + "\n";
  if (app->get_footer().empty()) return text + "\n";
  return text + "\nExample:\n  " + CLI::detail::find_and_replace(app->get_footer(), "\n", "\n  ") +
         "\n\n";
}

std::string HelpFormat::make_footer(const CLI::App* /*app*/) const { return {}; }

std::string HelpFormat::make_usage(const CLI::App* app, std::string name) const {
  return CLI::Formatter::make_usage(app, app->get_parent() == nullptr ? app->get_name() : name);
}

std::string HelpFormat::make_option_opts(const CLI::Option* option) const {
  if (option->get_type_size() == 0 || option->get_positional()) return {};
  return " " + option->get_type_name();
}

}  // namespace howl
