#include "src/entry/names.h"

#include <algorithm>
#include <numeric>
#include <vector>

#include "src/lower_case.h"

namespace howl {
namespace {

std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i + 1;
    for (std::size_t j = 0; j < b.size(); ++j) {
      const std::size_t replaced = diagonal + (a[i] == b[j] ? 0 : 1);
      diagonal = row[j + 1];
      row[j + 1] = std::min({replaced, row[j] + 1, row[j + 1] + 1});
    }
  }
  return row.back();
}

/// 0 for the same name but for case; a part of a name counts as one error.
std::size_t distance(const std::string& typed, const std::string& known) {
  const std::size_t edits = edit_distance(typed, known);
  const bool is_part = typed.size() >= 3 && known.find(typed) != std::string::npos;
  return is_part ? std::min<std::size_t>(edits, 1) : edits;
}

}  // namespace

std::optional<std::string> nearest_name(std::string_view typed,
                                        std::span<const std::string> known) {
  const std::string wanted = lower_case(typed);
  std::optional<std::string> nearest;
  std::size_t best = std::max<std::size_t>(2, wanted.size() / 3) + 1;
  for (const std::string& name : known) {
    const std::size_t edits = distance(wanted, lower_case(name));
    if (edits >= best || edits >= std::max(wanted.size(), name.size())) continue;
    best = edits;
    nearest = name;
  }
  return nearest;
}

std::string single_spaced(std::string_view name) {
  std::string spaced;
  for (const char c : name) {
    const bool blank = c == ' ' || c == '\t';
    if (blank && (spaced.empty() || spaced.back() == ' ')) continue;
    spaced += blank ? ' ' : c;
  }
  if (!spaced.empty() && spaced.back() == ' ') spaced.pop_back();
  return spaced;
}

bool same_but_for_case(std::string_view a, std::string_view b) {
  return lower_case(a) == lower_case(b);
}

std::string did_you_mean(std::string_view typed, std::span<const std::string> known) {
  const auto nearest = nearest_name(typed, known);
  return nearest ? "did you mean '" + *nearest + "'? " : std::string{};
}

std::string joined(std::span<const std::string> names, std::string_view separator) {
  std::string text;
  for (const std::string& name : names) {
    if (!text.empty()) text += separator;
    text += name;
  }
  return text;
}

std::string quoted_list(std::span<const std::string> names) {
  std::vector<std::string> quoted;
  for (const std::string& name : names) quoted.push_back("'" + name + "'");
  return joined(quoted, ", ");
}

}  // namespace howl
