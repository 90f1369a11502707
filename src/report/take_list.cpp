#include "src/report/take_list.h"

#include <charconv>
#include <cstddef>
#include <optional>
#include <string_view>

namespace howl {
namespace {

constexpr std::size_t shortest_run = 3;

/// The number at the end of an id like "t07"; none for others.
std::optional<int> number_of_id(std::string_view id) {
  if (id.size() < 2 || id.front() != 't') return std::nullopt;
  int number = 0;
  const char* const end = id.data() + id.size();
  const auto [stop, error] = std::from_chars(id.data() + 1, end, number);
  return error == std::errc() && stop == end ? std::optional(number) : std::nullopt;
}

bool follows(const std::string& first, const std::string& second) {
  const auto a = number_of_id(first);
  const auto b = number_of_id(second);
  return a && b && *b == *a + 1;
}

}  // namespace

std::string take_list(std::span<const std::string> ids) {
  if (ids.empty()) return "-";
  std::string text;
  for (std::size_t at = 0; at < ids.size();) {
    std::size_t end = at + 1;
    while (end < ids.size() && follows(ids[end - 1], ids[end])) ++end;
    if (end - at < shortest_run) end = at + 1;
    text += (text.empty() ? "" : ", ") + ids[at];
    if (end > at + 1) text += " to " + ids[end - 1];
    at = end;
  }
  return text;
}

}  // namespace howl
