#include "src/demo/toml_reader.h"

#include <fmt/format.h>

#include <utility>

namespace howl {

TomlReader::TomlReader(const toml::table& table, std::string file)
    : table_(&table), file_(std::move(file)) {}

bool TomlReader::has(std::string_view key) const { return table_->contains(key); }

const toml::node* TomlReader::find(std::string_view key) {
  asked_.emplace(key);
  return table_->get(key);
}

const toml::node& TomlReader::need(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) fail_at(*table_, key, "is missing", "add it");
  return *node;
}

void TomlReader::fail_at(const toml::node& node, std::string_view key, std::string problem,
                         std::string remedy) const {
  throw Error(Fault::file, fmt::format("{}, line {}", file_, node.source().begin.line),
              fmt::format("key '{}' {}", key, problem), std::move(remedy));
}

void TomlReader::fail(std::string_view key, std::string problem, std::string remedy) const {
  const toml::node* node = table_->get(key);
  fail_at(node != nullptr ? *node : *table_, key, std::move(problem), std::move(remedy));
}

double TomlReader::number_of(const toml::node& node, std::string_view key, Interval range) const {
  const std::optional<double> value = node.value<double>();
  if (!value) fail_at(node, key, "must be a number", "write a number");
  if (!range.contains(*value))
    fail_at(node, key, fmt::format("is {}", *value),
            fmt::format("keep it within {} to {}", range.low, range.high));
  return *value;
}

std::string TomlReader::text_of(const toml::node& node, std::string_view key) const {
  const std::optional<std::string> value = node.value_exact<std::string>();
  if (!value) fail_at(node, key, "must be a text", "write it in quotes");
  return *value;
}

const toml::array& TomlReader::array_of(const toml::node& node, std::string_view key) const {
  if (!node.is_array()) fail_at(node, key, "must be a list", "write it in square brackets");
  return *node.as_array();
}

const toml::table& TomlReader::table_of(const toml::node& node, std::string_view key) const {
  if (!node.is_table()) fail_at(node, key, "must be a table", "write it in braces");
  return *node.as_table();
}

bool TomlReader::flag_or(std::string_view key, bool otherwise) {
  const toml::node* node = find(key);
  if (node == nullptr) return otherwise;
  const std::optional<bool> value = node->value_exact<bool>();
  if (!value) fail_at(*node, key, "must be true or false", "write one of them");
  return *value;
}

std::string TomlReader::text(std::string_view key) { return text_of(need(key), key); }

std::string TomlReader::text_or(std::string_view key, std::string otherwise) {
  const toml::node* node = find(key);
  return node != nullptr ? text_of(*node, key) : std::move(otherwise);
}

double TomlReader::number(std::string_view key, Interval range) {
  return number_of(need(key), key, range);
}

std::optional<double> TomlReader::number_if(std::string_view key, Interval range) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  return number_of(*node, key, range);
}

double TomlReader::number_or(std::string_view key, double otherwise, Interval range) {
  return number_if(key, range).value_or(otherwise);
}

std::vector<std::string> TomlReader::texts(std::string_view key) {
  std::vector<std::string> out;
  for (const toml::node& node : array_of(need(key), key)) out.push_back(text_of(node, key));
  return out;
}

std::vector<double> TomlReader::numbers(std::string_view key) {
  std::vector<double> out;
  for (const toml::node& node : array_of(need(key), key)) out.push_back(number_of(node, key, any));
  return out;
}

std::vector<std::vector<double>> TomlReader::rows(std::string_view key) {
  std::vector<std::vector<double>> out;
  for (const toml::node& row : array_of(need(key), key)) {
    std::vector<double>& numbers = out.emplace_back();
    for (const toml::node& node : array_of(row, key)) numbers.push_back(number_of(node, key, any));
  }
  return out;
}

std::map<std::string, std::string> TomlReader::text_map(std::string_view key) {
  std::map<std::string, std::string> out;
  for (const auto& [name, node] : table_of(need(key), key))
    out.emplace(name.str(), text_of(node, key));
  return out;
}

std::map<std::string, double> TomlReader::number_map(std::string_view key) {
  std::map<std::string, double> out;
  for (const auto& [name, node] : table_of(need(key), key))
    out.emplace(name.str(), number_of(node, key, any));
  return out;
}

TomlReader TomlReader::table(std::string_view key) { return {table_of(need(key), key), file_}; }

std::optional<TomlReader> TomlReader::table_if(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  return TomlReader(table_of(*node, key), file_);
}

std::vector<TomlReader> TomlReader::tables(std::string_view key) {
  std::vector<TomlReader> out;
  const toml::node* node = find(key);
  if (node == nullptr) return out;
  for (const toml::node& entry : array_of(*node, key))
    out.emplace_back(table_of(entry, key), file_);
  return out;
}

void TomlReader::finish() const {
  for (const auto& [key, node] : *table_)
    if (!asked_.contains(key.str()))
      fail_at(node, key.str(), "is not known here", "remove it or correct its spelling");
}

}  // namespace howl
