#pragma once

#include <algorithm>
#include <string>
#include <string_view>

namespace howl {

/// ASCII letters in lower case; all else stays as it is, whatever the locale.
inline char lower_case(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

inline std::string lower_case(std::string_view text) {
  std::string lower(text);
  std::ranges::transform(lower, lower.begin(), [](char c) { return lower_case(c); });
  return lower;
}

}  // namespace howl
