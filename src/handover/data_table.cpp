#include "src/handover/data_table.h"

#include <fmt/format.h>

#include <cmath>

#include "src/report/json_values.h"
#include "src/report/words.h"

namespace howl::handover {
namespace {

/// Line feeds stay: RFC 4180 has room for them between quotes.
std::string clean_cell(std::string_view text) {
  std::string clean;
  for (std::size_t start = 0; start <= text.size();) {
    const std::size_t end = std::min(text.find('\n', start), text.size());
    clean += (start > 0 ? "\n" : "") + picture::printable(text.substr(start, end - start));
    start = end + 1;
  }
  return clean;
}

bool looks_like_formula(std::string_view text) {
  return !text.empty() && std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos;
}

std::string csv_text(std::string_view text) {
  std::string cell = clean_cell(text);
  if (looks_like_formula(text) || looks_like_formula(cell)) cell.insert(0, "'");
  if (cell.find_first_of(",\"\n") == std::string::npos) return cell;
  std::string quoted = "\"";
  for (const char c : cell) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + '"';
}

struct CsvCell {
  std::string operator()(std::monostate /*unknown*/) const { return {}; }
  std::string operator()(double value) const { return fmt::format("{}", value); }
  std::string operator()(bool value) const { return value ? "true" : "false"; }
  std::string operator()(const std::string& value) const { return csv_text(value); }
};

std::string comment_line(const std::string& text) { return "# " + picture::printable(text) + "\n"; }

Json json_of(const DataValue& value) {
  struct ToJson {
    Json operator()(std::monostate /*unknown*/) const { return nullptr; }
    Json operator()(double it) const { return it; }
    Json operator()(bool it) const { return it; }
    Json operator()(const std::string& it) const { return it; }
  };
  return std::visit(ToJson{}, value);
}

Json json_of(const DataTable& table) {
  const auto column_json = [](const DataColumn& column) -> Json {
    return {{"name", column.name}, {"unit", column.unit}, {"meaning", column.meaning}};
  };
  const auto row_json = [](const std::vector<DataValue>& row) {
    return list_of(row, [](const DataValue& value) { return json_of(value); });
  };
  return {{"name", table.name},
          {"title", table.title},
          {"columns", list_of(table.columns, column_json)},
          {"rows", list_of(table.rows, row_json)}};
}

}  // namespace

DataValue number_or_unknown(double value) {
  return std::isfinite(value) ? DataValue(value) : DataValue();
}

std::string csv_of(const DataTable& table, const DataHeader& header) {
  std::string text = comment_line(table.title);
  for (const auto& [label, value] : header) text += comment_line(label + ": " + value);
  for (const DataColumn& column : table.columns)
    if (!column.meaning.empty() || !column.unit.empty())
      text += comment_line(fmt::format("{}{}{}", column.name,
                                       column.unit.empty() ? "" : " (" + column.unit + ")",
                                       column.meaning.empty() ? "" : ": " + column.meaning));
  for (std::size_t c = 0; c < table.columns.size(); ++c)
    text += (c > 0 ? "," : "") + csv_text(table.columns[c].name);
  text += "\n";
  for (const auto& row : table.rows) {
    for (std::size_t c = 0; c < row.size(); ++c)
      text += (c > 0 ? "," : "") + std::visit(CsvCell{}, row[c]);
    text += "\n";
  }
  return text;
}

std::string json_of(const std::vector<DataTable>& tables, const DataHeader& header) {
  Json about = Json::object();
  for (const auto& [label, value] : header) about[label] = value;
  const Json whole{{"schema", "howlpoint.tables/1"},
                   {"about", about},
                   {"tables", list_of(tables, [](const DataTable& it) { return json_of(it); })}};
  return whole.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace howl::handover
