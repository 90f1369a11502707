#pragma once

#include <fmt/format.h>

#include <array>
#include <cstddef>
#include <string>
#include <string_view>
#include <utility>

#include "src/files/toml_reader.h"

namespace howl {

template <class Value, std::size_t N>
using Choices = std::array<std::pair<std::string_view, Value>, N>;

/// The value that the text under `key` stands for. Throws Error with the words that are known.
template <class Value, std::size_t N>
Value choice(TomlReader& in, std::string_view key, const Choices<Value, N>& choices) {
  const std::string word = in.text(key);
  std::string known;
  for (const auto& [name, value] : choices) {
    if (name == word) return value;
    known += fmt::format("{}\"{}\"", known.empty() ? "" : ", ", name);
  }
  in.fail(key, fmt::format("is \"{}\"", word), "use one of " + known);
}

template <class Value, std::size_t N>
std::string_view word_of(const Value& wanted, const Choices<Value, N>& choices) {
  for (const auto& [name, value] : choices)
    if (value == wanted) return name;
  return {};
}

}  // namespace howl
