#include "src/report/text_columns.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstdint>
#include <optional>

namespace howl {
namespace {

struct Character {
  std::uint32_t code{};
  std::size_t bytes{};
};

struct CodeRange {
  std::uint32_t first;
  std::uint32_t last;
};
constexpr std::array<CodeRange, 6> combining{{{0x0300, 0x036F},
                                              {0x0483, 0x0489},
                                              {0x1AB0, 0x1AFF},
                                              {0x200B, 0x200F},
                                              {0x20D0, 0x20FF},
                                              {0xFE00, 0xFE2F}}};
constexpr std::array<CodeRange, 8> wide{{{0x1100, 0x115F},
                                         {0x2E80, 0x303E},
                                         {0x3041, 0xA4CF},
                                         {0xAC00, 0xD7A3},
                                         {0xF900, 0xFAFF},
                                         {0xFF00, 0xFF60},
                                         {0x1F300, 0x1FAFF},
                                         {0x20000, 0x3FFFD}}};

template <std::size_t N>
bool lies_in(const std::array<CodeRange, N>& ranges, std::uint32_t code) {
  return std::ranges::any_of(
      ranges, [code](CodeRange range) { return range.first <= code && code <= range.last; });
}

std::size_t sequence_length(unsigned char lead) {
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead < 0xE0) return 2;
  if (lead >= 0xE0 && lead < 0xF0) return 3;
  if (lead >= 0xF0 && lead < 0xF5) return 4;
  return 0;
}

bool is_valid(std::uint32_t code, std::size_t bytes) {
  constexpr std::array<std::uint32_t, 5> smallest{0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  return code >= smallest[bytes] && code <= 0x10FFFF && !surrogate;
}

/// The first character of non-empty `text`; none if it is not valid UTF-8 (RFC 3629).
std::optional<Character> first_character(std::string_view text) {
  const auto lead = static_cast<unsigned char>(text.front());
  const std::size_t bytes = sequence_length(lead);
  if (bytes == 0 || bytes > text.size()) return std::nullopt;
  std::uint32_t code = bytes == 1 ? lead : lead & (0x7FU >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) {
    const auto next = static_cast<unsigned char>(text[i]);
    if ((next & 0xC0U) != 0x80U) return std::nullopt;
    code = code << 6U | (next & 0x3FU);
  }
  if (!is_valid(code, bytes)) return std::nullopt;
  return Character{code, bytes};
}

bool is_control(std::uint32_t code) {
  const bool direction_override =
      (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
  return code < 0x20 || (code >= 0x7F && code < 0xA0) || direction_override;
}

std::size_t width_of(std::uint32_t code) {
  if (lies_in(combining, code)) return 0;
  return lies_in(wide, code) ? 2 : 1;
}

std::vector<std::string_view> words_of(std::string_view text) {
  std::vector<std::string_view> words;
  while (!text.empty()) {
    const auto space = std::min(text.find(' '), text.size());
    if (space > 0) words.push_back(text.substr(0, space));
    text.remove_prefix(std::min(space + 1, text.size()));
  }
  return words;
}

std::vector<std::string> lines_of(std::string_view text, std::size_t width) {
  std::vector<std::string> lines(1);
  std::size_t used = 0;
  for (const std::string_view word : words_of(text)) {
    const std::size_t word_width = display_width(word);
    if (used > 0 && used + 1 + word_width > width) {
      lines.emplace_back();
      used = 0;
    }
    if (used > 0) lines.back() += ' ';
    lines.back() += word;
    used = display_width(lines.back());
  }
  return lines;
}

std::size_t line_count(const std::vector<std::vector<std::string>>& row) {
  std::size_t count = 0;
  for (const auto& cell : row) count = std::max(count, cell.size());
  return count;
}

std::string padded(const std::string& text, std::size_t width, TextColumns::Align align) {
  const std::string space(width - std::min(width, display_width(text)), ' ');
  return align == TextColumns::Align::left ? text + space : space + text;
}

}  // namespace

std::size_t display_width(std::string_view text) {
  std::size_t width = 0;
  while (!text.empty()) {
    const auto character = first_character(text);
    width += character ? width_of(character->code) : 1;
    text.remove_prefix(character ? character->bytes : 1);
  }
  return width;
}

std::string printable(std::string_view text) {
  std::string result;
  while (!text.empty()) {
    const auto character = first_character(text);
    if (character && !is_control(character->code))
      result += text.substr(0, character->bytes);
    else
      result += '?';
    text.remove_prefix(character ? character->bytes : 1);
  }
  return result;
}

std::string shortened(std::string_view text, std::size_t width) {
  if (display_width(text) <= width) return std::string(text);
  std::string result;
  std::size_t used = 0;
  while (!text.empty()) {
    const auto character = first_character(text);
    const std::size_t step = character ? width_of(character->code) : 1;
    if (used + step + 1 > width) break;
    result += text.substr(0, character ? character->bytes : 1);
    used += step;
    text.remove_prefix(character ? character->bytes : 1);
  }
  return result + "…";
}

std::string wrapped(std::string_view text, std::size_t indent, std::size_t width) {
  std::string result;
  for (const std::string& line : lines_of(printable(text), width - std::min(indent, width)))
    result += std::string(indent, ' ') + line + '\n';
  return result;
}

std::string wrapped_item(std::string_view mark, std::string_view text, std::size_t indent,
                         std::size_t width) {
  const std::size_t hang = indent + display_width(mark);
  std::string result = wrapped(text, hang, width);
  return result.replace(0, hang, std::string(indent, ' ') + std::string(mark));
}

TextColumns::TextColumns(std::vector<Column> columns, std::size_t indent)
    : columns_(std::move(columns)), indent_(indent) {}

void TextColumns::add(std::vector<std::string> cells) {
  assert(cells.size() == columns_.size());
  rows_.push_back(std::move(cells));
}

TextColumns::Row TextColumns::row_of(const std::vector<std::string>& cells) const {
  Row row;
  for (std::size_t i = 0; i < cells.size(); ++i)
    row.push_back(lines_of(printable(cells[i]), columns_[i].widest));
  return row;
}

std::vector<std::size_t> TextColumns::widths(const std::vector<Row>& rows) const {
  std::vector<std::size_t> result(columns_.size(), 0);
  for (const Row& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i)
      for (const std::string& line : row[i]) result[i] = std::max(result[i], display_width(line));
  return result;
}

std::string TextColumns::line_text(const Row& row, std::size_t line,
                                   const std::vector<std::size_t>& width) const {
  std::string text(indent_, ' ');
  for (std::size_t i = 0; i < row.size(); ++i) {
    if (i > 0) text += "  ";
    text += padded(line < row[i].size() ? row[i][line] : "", width[i], columns_[i].align);
  }
  text.erase(text.find_last_not_of(' ') + 1);
  return text + '\n';
}

std::string TextColumns::text() const {
  std::vector<std::string> headings;
  for (const Column& column : columns_) headings.push_back(column.heading);
  std::vector<Row> rows{row_of(headings)};
  for (const auto& cells : rows_) rows.push_back(row_of(cells));
  const std::vector<std::size_t> width = widths(rows);

  std::string result;
  for (const Row& row : rows)
    for (std::size_t line = 0; line < line_count(row); ++line)
      result += line_text(row, line, width);
  return result;
}

}  // namespace howl
