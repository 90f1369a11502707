#include "src/files/toml_reader.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cstdint>
#include <utility>

namespace howl {

toml::table parse_toml(std::string_view text, const std::string& where) {
  try {
    return toml::parse(text, where);
  } catch (const toml::parse_error& problem) {
    throw Error(Fault::file, fmt::format("{}, line {}", where, problem.source().begin.line),
                fmt::format("is not TOML: {}", problem.description()), "correct that line");
  }
}

TomlReader::TomlReader(const toml::table& table, std::string file, std::string name)
    : table_(&table), file_(std::move(file)), name_(std::move(name)) {}

bool TomlReader::has(std::string_view key) const { return table_->contains(key); }

bool TomlReader::holds_table(std::string_view key) const {
  const toml::node* node = table_->get(key);
  return node != nullptr && node->is_table();
}

bool TomlReader::says(std::string_view key) {
  const toml::node* node = find(key);
  return node != nullptr && node->value_exact<std::string_view>() != "unknown";
}

std::vector<std::string> TomlReader::keys() const {
  std::vector<std::string> names;
  for (const auto& [key, node] : *table_) names.emplace_back(key.str());
  return names;
}

const toml::node* TomlReader::find(std::string_view key) {
  asked_.emplace(key);
  return table_->get(key);
}

const toml::node& TomlReader::need(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) fail_at(*table_, key, "is missing", fmt::format("add a line: {} = …", key));
  return *node;
}

std::string TomlReader::path(std::string_view key) const {
  return name_.empty() ? std::string(key) : fmt::format("{}.{}", name_, key);
}

void TomlReader::fail_at(const toml::node& node, std::string_view key, std::string problem,
                         std::string remedy) const {
  throw Error(Fault::file, fmt::format("{}, line {}", file_, node.source().begin.line),
              fmt::format("'{}' {}", path(key), problem), std::move(remedy));
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
            fmt::format("keep it within {:g} to {:g}", range.low, range.high));
  return *value;
}

std::string TomlReader::text_of(const toml::node& node, std::string_view key) const {
  const std::optional<std::string> value = node.value_exact<std::string>();
  if (!value) fail_at(node, key, "must be text", "put it into quotation marks");
  return *value;
}

const toml::array& TomlReader::array_of(const toml::node& node, std::string_view key) const {
  if (!node.is_array()) fail_at(node, key, "must be a list", "write it in square brackets");
  return *node.as_array();
}

const toml::table& TomlReader::table_of(const toml::node& node, std::string_view key) const {
  if (!node.is_table())
    fail_at(node, key, "must be a table", fmt::format("begin it with [{}], or use braces", key));
  return *node.as_table();
}

std::string TomlReader::text(std::string_view key) {
  const toml::node& node = need(key);
  std::string value = text_of(node, key);
  if (value.empty()) fail_at(node, key, "must not be empty", "write what it stands for");
  return value;
}

std::optional<std::string> TomlReader::text_if(std::string_view key) {
  if (!has(key)) return std::nullopt;
  return text(key);
}

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

std::optional<int> TomlReader::whole_if(std::string_view key, int low, int high) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  const auto value = node->value_exact<std::int64_t>();
  if (!value || *value < low || *value > high)
    fail_at(*node, key,
            low == high ? fmt::format("must be {}", low)
                        : fmt::format("must be a whole number from {} to {}", low, high),
            "correct the number, without quotation marks");
  return static_cast<int>(*value);
}

std::optional<bool> TomlReader::flag_if(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  const auto value = node->value_exact<bool>();
  if (!value) fail_at(*node, key, "must be true or false", "write one of them, without quotes");
  return *value;
}

std::optional<Interval> TomlReader::span_if(std::string_view key, Interval range) {
  if (!says(key)) return std::nullopt;
  const toml::node& node = need(key);
  if (!node.is_array()) {
    const double value = number_of(node, key, range);
    return Interval{value, value};
  }
  const toml::array& ends = *node.as_array();
  if (ends.size() != 2)
    fail_at(node, key, "must be a number or a range", "write one number, or [low, high]");
  const Interval span{number_of(ends[0], key, range), number_of(ends[1], key, range)};
  if (span.low > span.high)
    fail_at(node, key, fmt::format("runs from {:g} down to {:g}", span.low, span.high),
            "write the lower end first");
  return span;
}

Interval TomlReader::span(std::string_view key, Interval range) {
  const toml::node& node = need(key);
  const std::optional<Interval> span = span_if(key, range);
  if (!span) fail_at(node, key, "must be known here", "write one number, or [low, high]");
  return *span;
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

std::map<std::string, double> TomlReader::number_map(std::string_view key, Interval range) {
  std::map<std::string, double> out;
  for (const auto& [name, node] : table_of(need(key), key))
    out.emplace(name.str(), number_of(node, key, range));
  return out;
}

TomlReader TomlReader::table(std::string_view key) {
  return {table_of(need(key), key), file_, path(key)};
}

std::optional<TomlReader> TomlReader::table_if(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  return TomlReader(table_of(*node, key), file_, path(key));
}

std::vector<TomlReader> TomlReader::tables(std::string_view key) {
  std::vector<TomlReader> out;
  const toml::node* node = find(key);
  if (node == nullptr) return out;
  if (!node->is_array())
    fail_at(*node, key, "must be a list of tables", fmt::format("begin each with [[{}]]", key));
  for (const toml::node& entry : *node->as_array()) {
    if (!entry.is_table())
      fail_at(*node, key, "must be a list of tables", fmt::format("begin each with [[{}]]", key));
    out.emplace_back(*entry.as_table(), file_, path(key));
  }
  return out;
}

void TomlReader::finish() const {
  for (const auto& [key, node] : *table_)
    if (!asked_.contains(key.str()))
      fail_at(node, key.str(), "is not a key that is known here",
              fmt::format("known are {}", fmt::join(asked_, ", ")));
}

}  // namespace howl
