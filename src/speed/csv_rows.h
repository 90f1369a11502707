#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

namespace howl {

/// One cell: without surrounding blanks and quotes.
struct CsvCell {
  std::string_view text;
  bool quoted{};
};

struct CsvRow {
  std::size_t line{};  ///< in the file, from 1
  std::vector<CsvCell> cells;
};

/// The rows of a table as text; views into the text that was given.
struct CsvTable {
  char separator{','};
  std::vector<CsvRow> rows;
};

/// Splits a table: lines end in LF, CRLF or CR; cells are separated by tabs, else by semicolons,
/// else by commas, whichever most lines have; empty lines, comments (# // %) and a UTF-8 mark at
/// the start are left out. Never fails.
CsvTable csv_table(std::string_view text);

}  // namespace howl
