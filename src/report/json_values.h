#pragma once

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

namespace howl {

/// What is not known is null in the JSON: never a number that is none, never an empty text.
using Json = nlohmann::ordered_json;

inline Json number(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }
inline Json number(const std::optional<double>& value) {
  return value ? number(*value) : Json(nullptr);
}
inline Json text_or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}
inline Json text_or_null(const std::optional<std::string>& text) {
  return text ? Json(*text) : Json(nullptr);
}

template <class Items, class Describe>
Json list_of(const Items& items, Describe describe) {
  Json list = Json::array();
  for (const auto& item : items) list.push_back(describe(item));
  return list;
}

}  // namespace howl
