#pragma once

#include <CLI/CLI.hpp>
#include <string>

namespace howl {

/// Help that says first what a command is for, then shows an example (kept in the footer of the
/// App), then the usage and the options.
class HelpFormat : public CLI::Formatter {
 public:
  HelpFormat();
  std::string make_description(const CLI::App* app) const override;
  std::string make_footer(const CLI::App* app) const override;
  std::string make_usage(const CLI::App* app, std::string name) const override;
  std::string make_option_opts(const CLI::Option* option) const override;
};

}  // namespace howl
