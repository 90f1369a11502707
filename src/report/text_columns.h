#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace howl {

/// Columns that UTF-8 text takes on a terminal: combining marks none, East Asian wide characters
/// two (Unicode UAX #11, the blocks that hold letters), all others one.
std::size_t display_width(std::string_view text);

/// Text that may go to a terminal: control characters and broken UTF-8 become '?'.
std::string printable(std::string_view text);

/// At most `width` columns wide; what was cut is marked by '…'.
std::string shortened(std::string_view text, std::size_t width);

/// Broken at spaces into lines of at most `width` columns, all indented; a longer word stays whole.
/// The text is made printable. Ends in a line feed.
std::string wrapped(std::string_view text, std::size_t indent, std::size_t width);

/// The same after a `mark` ("1. "): later lines begin where the text after the mark began.
std::string wrapped_item(std::string_view mark, std::string_view text, std::size_t indent,
                         std::size_t width);

/// A table in plain text: headings, aligned columns, cells that are too long broken into lines.
class TextColumns {
 public:
  enum class Align { left, right };
  struct Column {
    std::string heading;
    Align align{Align::left};
    std::size_t widest{40};
  };

  explicit TextColumns(std::vector<Column> columns, std::size_t indent = 2);
  /// As many cells as columns.
  void add(std::vector<std::string> cells);
  /// All rows, each line ending in a line feed and without trailing spaces.
  std::string text() const;

 private:
  using Row = std::vector<std::vector<std::string>>;  // cells, each of lines
  Row row_of(const std::vector<std::string>& cells) const;
  std::vector<std::size_t> widths(const std::vector<Row>& rows) const;
  std::string line_text(const Row& row, std::size_t line,
                        const std::vector<std::size_t>& width) const;

  std::vector<Column> columns_;
  std::size_t indent_;
  std::vector<std::vector<std::string>> rows_;
};

}  // namespace howl
