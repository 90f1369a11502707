#include "ui/look/wrapped_lines.h"

#include <algorithm>
#include <cmath>

#include "ui/look/text.h"

namespace howl::desk {
namespace {

std::size_t next_character(std::string_view text, std::size_t at) {
  do ++at;
  while (at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0U) == 0x80U);
  return at;
}

float width_between(const ImFont* font, std::string_view text, std::size_t from, std::size_t to) {
  return text_width(font, text.substr(from, to - from));
}

/// As much of a word as fits, at least a character.
std::size_t end_inside_word(const ImFont* font, float width, std::string_view text,
                            std::size_t from, std::size_t to) {
  std::size_t end = next_character(text, from);
  while (end < to) {
    const std::size_t next = next_character(text, end);
    if (width_between(font, text, from, next) > width) break;
    end = next;
  }
  return end;
}

/// Where the line that begins at `from` ends, of what goes on to `to` without a line end.
std::size_t line_end(const ImFont* font, float width, std::string_view text, std::size_t from,
                     std::size_t to) {
  std::size_t end = from;
  while (end < to) {
    const std::size_t word = std::min(text.find(' ', end), to);
    if (width_between(font, text, from, word) > width)
      return end > from ? end : end_inside_word(font, width, text, from, word);
    end = std::min(text.find_first_not_of(' ', word), to);
  }
  return to;
}

}  // namespace

std::vector<LineSpan> wrapped_lines(const ImFont* font, float width, std::string_view text) {
  std::vector<LineSpan> lines;
  std::size_t from = 0;
  for (;;) {
    const std::size_t to = std::min(text.find('\n', from), text.size());
    do {
      const std::size_t end = line_end(font, width, text, from, to);
      lines.push_back({from, end});
      from = end;
    } while (from < to);
    if (to == text.size()) return lines;
    from = to + 1;
  }
}

std::size_t line_of(const std::vector<LineSpan>& lines, std::size_t at) {
  std::size_t line = 0;
  while (line + 1 < lines.size() && lines[line + 1].from <= at) ++line;
  return line;
}

std::size_t place_in_line(const ImFont* font, std::string_view text, const LineSpan& line,
                          float x) {
  std::size_t best = line.from;
  float least = std::abs(x);
  for (std::size_t at = line.from; at < line.to;) {
    at = next_character(text, at);
    const float away = std::abs(width_between(font, text, line.from, at) - x);
    if (away >= least) continue;
    least = away;
    best = at;
  }
  // Behind the space at which it breaks the next line begins.
  const bool broken = line.to < text.size() && text[line.to] != '\n';
  if (broken && best == line.to && text[line.to - 1] == ' ') --best;
  return best;
}

}  // namespace howl::desk
