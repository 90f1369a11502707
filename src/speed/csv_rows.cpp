#include "src/speed/csv_rows.h"

#include <algorithm>
#include <array>
#include <span>

namespace howl {

namespace {

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blanks = " \t\v\f";
  const auto first = text.find_first_not_of(blanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

struct Line {
  std::size_t number{};
  std::string_view text;
};

bool is_comment(std::string_view line) {
  return line.starts_with('#') || line.starts_with("//") || line.starts_with('%');
}

std::vector<Line> lines_of(std::string_view text) {
  constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  std::vector<Line> lines;
  std::size_t number = 0;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    const std::string_view line = text.substr(0, end);
    ++number;
    const std::string_view content = trimmed(line);
    if (!content.empty() && !is_comment(content)) lines.push_back({number, line});
    text.remove_prefix(end);
    if (text.starts_with("\r\n"))
      text.remove_prefix(2);
    else if (!text.empty())
      text.remove_prefix(1);
  }
  return lines;
}

/// Where the cell that begins at the start of `text` ends: at a separator outside quotes.
std::size_t cell_end(std::string_view text, char separator) {
  bool quoted = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '"') quoted = !quoted;
    if (text[i] == separator && !quoted) return i;
  }
  return text.size();
}

CsvCell cell_of(std::string_view raw) {
  const std::string_view text = trimmed(raw);
  if (text.size() < 2 || text.front() != '"' || text.back() != '"') return {text, false};
  return {trimmed(text.substr(1, text.size() - 2)), true};
}

CsvRow row_of(const Line& line, char separator) {
  CsvRow row{.line = line.number, .cells = {}};
  std::string_view rest = line.text;
  for (;;) {
    const std::size_t end = cell_end(rest, separator);
    row.cells.push_back(cell_of(rest.substr(0, end)));
    if (end == rest.size()) return row;
    rest.remove_prefix(end + 1);
  }
}

char separator_of(std::span<const Line> lines) {
  constexpr std::size_t looked_at = 20;
  const auto some = lines.first(std::min(looked_at, lines.size()));
  for (const char candidate : {'\t', ';'}) {
    const auto with = std::ranges::count_if(
        some, [&](const Line& line) { return cell_end(line.text, candidate) < line.text.size(); });
    if (2 * static_cast<std::size_t>(with) >= some.size() && with > 0) return candidate;
  }
  return ',';
}

bool declares_separator(const Line& line) { return trimmed(line.text).starts_with("sep="); }

}  // namespace

CsvTable csv_table(std::string_view text) {
  std::vector<Line> lines = lines_of(text);
  if (!lines.empty() && declares_separator(lines.front())) lines.erase(lines.begin());
  CsvTable table;
  table.separator = separator_of(lines);
  table.rows.reserve(lines.size());
  for (const Line& line : lines) table.rows.push_back(row_of(line, table.separator));
  return table;
}

}  // namespace howl
