#pragma once

#include <toml++/toml.h>
#include <limits>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/statistics.h"
#include "src/errors.h"

namespace howl {

/// Reads the keys of one TOML table and remembers which were asked for, so that a misspelt key is
/// an error too. Every failure is an Error (file fault) that names file, line and key.
class TomlReader {
 public:
  static constexpr Interval any{-std::numeric_limits<double>::max(),
                                std::numeric_limits<double>::max()};

  TomlReader(const toml::table& table, std::string file);

  bool has(std::string_view key) const;
  std::string text(std::string_view key);
  std::string text_or(std::string_view key, std::string otherwise);
  double number(std::string_view key, Interval range = any);
  double number_or(std::string_view key, double otherwise, Interval range = any);
  std::optional<double> number_if(std::string_view key, Interval range = any);
  bool flag_or(std::string_view key, bool otherwise);
  std::vector<std::string> texts(std::string_view key);
  std::vector<double> numbers(std::string_view key);
  std::vector<std::vector<double>> rows(std::string_view key);
  std::map<std::string, std::string> text_map(std::string_view key);
  std::map<std::string, double> number_map(std::string_view key);
  TomlReader table(std::string_view key);
  std::optional<TomlReader> table_if(std::string_view key);
  /// Empty where the key is missing.
  std::vector<TomlReader> tables(std::string_view key);

  /// Throws unless every key of the table was asked for.
  void finish() const;
  [[noreturn]] void fail(std::string_view key, std::string problem, std::string remedy) const;

 private:
  const toml::node* find(std::string_view key);
  const toml::node& need(std::string_view key);
  double number_of(const toml::node& node, std::string_view key, Interval range) const;
  std::string text_of(const toml::node& node, std::string_view key) const;
  const toml::array& array_of(const toml::node& node, std::string_view key) const;
  const toml::table& table_of(const toml::node& node, std::string_view key) const;
  [[noreturn]] void fail_at(const toml::node& node, std::string_view key, std::string problem,
                            std::string remedy) const;

  const toml::table* table_;
  std::string file_;
  std::set<std::string, std::less<>> asked_;
};

}  // namespace howl
