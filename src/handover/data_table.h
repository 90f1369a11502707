#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace howl::handover {

/// A number, a text, true or false; monostate where it is not known. Never NaN or infinite.
using DataValue = std::variant<std::monostate, double, std::string, bool>;

/// A finite number, or what stands for not known.
DataValue number_or_unknown(double value);

struct DataColumn {
  std::string name;     ///< "level_db"
  std::string unit;     ///< "dB"; empty for what has none
  std::string meaning;  ///< a few words
};

struct DataTable {
  std::string name;  ///< "ranking": lower case, for the file's name
  std::string title;
  std::vector<DataColumn> columns;
  std::vector<std::vector<DataValue>> rows;  ///< as many values as columns
};

/// What is the same for all tables of an export: program, case, settings, as label and text.
using DataHeader = std::vector<std::pair<std::string, std::string>>;

/// RFC 4180, UTF-8: lines that begin with # say what the file holds and what each column means;
/// then the names of the columns, then the rows. Numbers with a decimal point, as exact as they
/// are; not known is empty. A text that a spreadsheet would take for a formula gets an apostrophe
/// before it, and what is no printable text is replaced (src/report/words.h).
std::string csv_of(const DataTable& table, const DataHeader& header);

/// Schema "howlpoint.tables/1":
/// { "schema", "about": { label: text }, "tables": [ { "name", "title", "columns": [ { "name",
///   "unit", "meaning" } ], "rows": [ [ … ] ] } ] }; not known is null.
std::string json_of(const std::vector<DataTable>& tables, const DataHeader& header);

}  // namespace howl::handover
