#include "src/document/text.h"

#include <algorithm>
#include <array>
#include <cstddef>

#include "src/report/words.h"

namespace howl::document {
namespace {

void add_table(std::vector<std::string>& texts, const Table& table) {
  if (!table.caption.empty()) texts.push_back(table.caption);
  for (const Column& column : table.columns)
    if (!column.heading.empty()) texts.push_back(column.heading);
  for (const auto& row : table.rows)
    for (const std::string& cell : row)
      if (!cell.empty()) texts.push_back(cell);
  if (!table.note.empty()) texts.push_back(table.note);
}

struct TextsOfBlock {
  std::vector<std::string>& texts;
  bool with_figures_behind;

  void operator()(const Paragraph& block) const { texts.push_back(block.text); }
  void operator()(const Heading& block) const { texts.push_back(block.text); }
  void operator()(const Bullets& block) const {
    texts.insert(texts.end(), block.items.begin(), block.items.end());
  }
  void operator()(const Facts& block) const {
    for (const auto& [label, value] : block.items) {
      texts.push_back(label);
      texts.push_back(value);
    }
  }
  void operator()(const Table& block) const { add_table(texts, block); }
  void operator()(const Figure& block) const {
    texts.push_back(block.caption);
    texts.insert(texts.end(), block.warnings.begin(), block.warnings.end());
    if (with_figures_behind && !block.behind.rows.empty()) add_table(texts, block.behind);
  }
  void operator()(const Clip& block) const {
    texts.push_back(block.caption);
    texts.push_back(block.description);
  }
};

}  // namespace

std::vector<std::string> text_lines(std::string_view text) {
  std::vector<std::string> lines;
  for (std::size_t start = 0; start <= text.size();) {
    const std::size_t end = std::min(text.find_first_of("\r\n", start), text.size());
    lines.push_back(picture::printable(text.substr(start, end - start)));
    const bool both = end + 1 < text.size() && text[end] == '\r' && text[end + 1] == '\n';
    start = end + (both ? 2 : 1);
  }
  while (lines.size() > 1 && lines.back().empty()) lines.pop_back();
  return lines;
}

std::vector<UnitGap> unit_gaps(std::string_view text) {
  static constexpr std::array<std::string_view, 5> units{"%", "dB", "Hz", "kHz", "rpm"};
  std::vector<UnitGap> gaps;
  for (std::size_t at = text.find(' '); at != std::string_view::npos; at = text.find(' ', at + 1)) {
    if (at == 0 || text[at - 1] < '0' || text[at - 1] > '9') continue;
    const std::string_view rest = text.substr(at + 1);
    const auto begins = [&](std::string_view unit) { return rest.starts_with(unit); };
    const auto unit = std::ranges::find_if(units, begins);
    if (unit != units.end()) gaps.push_back({at, at + 1 + unit->size()});
  }
  return gaps;
}

std::vector<std::string> texts_of(const Document& document, bool with_figures_behind) {
  std::vector<std::string> texts{document.title};
  for (const Section& section : document.sections) {
    if (!section.title.empty()) texts.push_back(section.title);
    for (const Block& block : section.blocks)
      std::visit(TextsOfBlock{texts, with_figures_behind}, block);
  }
  return texts;
}

}  // namespace howl::document
