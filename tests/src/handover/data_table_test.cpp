#include "src/handover/data_table.h"

#include <doctest/doctest.h>

#include <limits>

#include "src/handover/tables.h"
#include "tests/report/example_analysis.h"

namespace howl::handover {
namespace {

const DataTable example{
    "example",
    "An example",
    {{"point", "", "name"}, {"level_db", "dB", ""}, {"sure", "", ""}},
    {{"pump", -20.125, true}, {"a, \"b\"\nc", DataValue(), false}, {"=1+1", 1e-7, DataValue()}}};

TEST_CASE("CSV explains itself, quotes what needs it, and leaves unknown empty") {
  CHECK(csv_of(example, {{"Program", "howlpoint 0.0.0"}, {"Case", "two\nlines"}}) ==
        "# An example\n"
        "# Program: howlpoint 0.0.0\n"
        "# Case: two lines\n"
        "# point: name\n"
        "# level_db (dB)\n"
        "point,level_db,sure\n"
        "pump,-20.125,true\n"
        "\"a, \"\"b\"\"\nc\",,false\n"
        "'=1+1,1e-07,\n");
}

TEST_CASE("No cell of CSV is a formula for a spreadsheet") {
  for (const char* text : {"=A1", "+1", "-1", "@SUM(A1)", "\t=A1", "\r=A1", "\a=A1"}) {
    const std::string csv = csv_of({"t", "t", {{"c", "", ""}}, {{std::string(text)}}}, {});
    const std::string cell = csv.substr(csv.rfind("c\n") + 2);
    CHECK((cell.front() == '\'' || cell.front() == ' '));
  }
}

TEST_CASE("JSON of tables has null for unknown, and no NaN") {
  const std::string json =
      json_of({{"t",
                "T",
                {{"a", "Hz", "m"}},
                {{DataValue()},
                 {number_or_unknown(0.5)},
                 {number_or_unknown(std::numeric_limits<double>::infinity())}}}},
              {{"Program", "howlpoint"}});
  CHECK(json.find("\"schema\": \"howlpoint.tables/1\"") != std::string::npos);
  CHECK(json.find("\"unit\": \"Hz\"") != std::string::npos);
  CHECK(json.find("0.5") != std::string::npos);
  CHECK(json.find("inf") == std::string::npos);
}

TEST_CASE("Every table of an analysis has as many cells as columns, and the analysis's numbers") {
  const Analysis analysis = testing::example_analysis();
  const std::vector<DataTable> tables = tables_of(testing::example_case(), analysis);
  std::size_t rows = 0;
  for (const DataTable& table : tables)
    for (const auto& row : table.rows) {
      CHECK(row.size() == table.columns.size());
      ++rows;
    }
  CHECK(rows > 10);
  for (const DataTable& table : tables) {
    if (table.name != "ranking") continue;
    CHECK(table.rows[0][0] == DataValue(std::string("transmission pan")));
    CHECK(table.rows[0][1] == DataValue(-32.1));
    CHECK(table.rows[2][1] == DataValue());
  }
}

TEST_CASE("The data of a map are its levels, a column for each place, rows from below") {
  MapPicture map;
  map.title = "t";
  map.x = {"Time", "s", 0.0, 2.0, false};
  map.y = {"Frequency", "Hz", 100.0, 200.0, false};
  map.map = {3, 2, {1, 2, 3, 4, 5, 6}};
  const DataTable data = data_of(map, "spectrogram");
  REQUIRE(data.columns.size() == 4);
  CHECK(data.columns[2].name == "1.0000");
  REQUIRE(data.rows.size() == 2);
  CHECK(data.rows[1] == std::vector<DataValue>{200.0, 2.0, 4.0, 6.0});
}

}  // namespace
}  // namespace howl::handover
