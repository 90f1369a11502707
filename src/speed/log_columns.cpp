#include "src/speed/log_columns.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <initializer_list>
#include <span>
#include <utility>
#include <vector>

#include "src/errors.h"
#include "src/lower_case.h"
#include "src/speed/log_cells.h"

namespace howl {

namespace {

constexpr double kmh_per_mph = 1.609344;
constexpr std::size_t longest_preamble = 50;

/// A column's name, ready to be asked for words.
class Heading {
 public:
  explicit Heading(const CsvCell& cell) {
    std::string word;
    const auto end_word = [&] {
      if (!word.empty()) words_.push_back(std::exchange(word, {}));
    };
    for (const char c : cell.text) {
      const char low = lower_case(c);
      if (low != ' ') joined_ += low;
      const bool letter = (low >= 'a' && low <= 'z') || (low >= '0' && low <= '9');
      letter ? word.push_back(low) : end_word();
    }
    end_word();
  }

  bool has(std::initializer_list<std::string_view> any) const {
    return std::ranges::any_of(
        words_, [&](const std::string& word) { return std::ranges::find(any, word) != any.end(); });
  }
  bool contains(std::initializer_list<std::string_view> any) const {
    return std::ranges::any_of(
        any, [&](std::string_view part) { return joined_.find(part) != std::string::npos; });
  }
  bool starts_with_word(std::string_view word) const {
    return !words_.empty() && words_.front() == word;
  }

 private:
  std::vector<std::string> words_;
  std::string joined_;
};

bool names_time(const Heading& h) {
  return h.has({"time", "timestamp", "elapsed", "zeit", "uhrzeit"}) || h.starts_with_word("t") ||
         h.starts_with_word("s") || h.starts_with_word("sec") || h.starts_with_word("second") ||
         h.starts_with_word("seconds") || h.starts_with_word("ms") ||
         h.starts_with_word("milliseconds");
}

std::optional<double> time_unit(const Heading& h) {
  if (h.has({"ms", "msec", "millis", "millisecond", "milliseconds"})) return 1e-3;
  if (h.has({"us", "microseconds"})) return 1e-6;
  if (h.has({"min", "minutes"})) return 60.0;
  if (h.has({"s", "sec", "secs", "second", "seconds"})) return 1.0;
  return std::nullopt;
}

bool is_of_another_shaft(const Heading& h) {
  return h.has({"turbine", "turbo", "input", "output", "shaft", "wheel", "fan", "target", "desired",
                "compressor", "pump", "prop"});
}

/// How surely a column is engine speed: 0 not at all.
int engine_speed_rank(const Heading& h) {
  if (is_of_another_shaft(h)) return 0;
  const bool unit = h.has({"rpm"}) || h.contains({"1/min", "u/min", "r/min", "min-1", "min^-1"});
  const bool name = h.has({"enginespeed", "enginerpm", "drehzahl", "motordrehzahl"}) ||
                    (h.has({"engine"}) && h.has({"speed", "rpm"}));
  if (name) return 3;
  if (unit) return 2;
  return h.starts_with_word("n") ? 1 : 0;
}

bool names_road_speed(const Heading& h) {
  if (engine_speed_rank(h) > 0 || is_of_another_shaft(h)) return false;
  return h.contains({"km/h"}) || h.has({"kmh", "kph", "mph", "speed", "velocity", "vss"});
}

bool names_parameter(const Heading& h) { return h.has({"pid", "parameter"}); }
bool names_answer(const Heading& h) { return h.has({"raw", "data", "answer", "hex", "value"}); }

std::vector<Heading> headings_of(const CsvRow& row) {
  std::vector<Heading> headings;
  for (const CsvCell& cell : row.cells) headings.emplace_back(cell);
  return headings;
}

template <class Test>
std::optional<std::size_t> first_heading(std::span<const Heading> headings, Test test) {
  const auto found = std::ranges::find_if(headings, test);
  if (found == headings.end()) return std::nullopt;
  return static_cast<std::size_t>(found - headings.begin());
}

std::optional<std::size_t> best_engine_speed(std::span<const Heading> headings) {
  const auto best = std::ranges::max_element(headings, {}, engine_speed_rank);
  if (best == headings.end() || engine_speed_rank(*best) == 0) return std::nullopt;
  return static_cast<std::size_t>(best - headings.begin());
}

std::optional<LogColumns> columns_from_header(const CsvRow& row) {
  const std::vector<Heading> headings = headings_of(row);
  const auto time = first_heading(headings, names_time);
  if (!time) return std::nullopt;
  LogColumns columns{.time = *time,
                     .seconds_per_unit = time_unit(headings[*time]),
                     .header_cells = row.cells.size()};
  const auto parameter = first_heading(headings, names_parameter);
  const auto answer = first_heading(headings, names_answer);
  if (parameter && answer && *parameter != *answer) {
    columns.rows = LogColumns::Rows{*parameter, *answer};
    return columns;
  }
  const auto rpm = best_engine_speed(headings);
  if (!rpm || *rpm == *time) return std::nullopt;
  columns.rpm = *rpm;
  columns.road = first_heading(headings, names_road_speed);
  if (columns.road && headings[*columns.road].has({"mph"})) columns.kmh_per_unit = kmh_per_mph;
  return columns;
}

bool is_time(const CsvCell& cell, bool comma_is_decimal) {
  return number_in(cell, comma_is_decimal) || clock_time_in(cell);
}

/// A row such as 17029,0C,1AF8, whose middle cannot be a plain number.
bool is_answer_row(const CsvRow& row) {
  if (row.cells.size() != 3 || !parameter_in(row.cells[1])) return false;
  return row.cells[1].text.starts_with('0') || !number_in(row.cells[1], false);
}

std::optional<LogColumns> columns_by_position(const CsvTable& table) {
  const CsvRow& first = table.rows.front();
  if (first.cells.size() < 2 || !is_time(first.cells[0], table.separator != ','))
    return std::nullopt;
  LogColumns columns{.time = 0, .rpm = 1};
  if (std::ranges::any_of(table.rows, is_answer_row)) {
    columns.rows = LogColumns::Rows{1, 2};
    columns.seconds_per_unit = 1e-3;
  }
  return columns;
}

/// The line most likely meant as a header: the first with several cells.
const CsvRow& header_like(const CsvTable& table) {
  const auto found =
      std::ranges::find_if(table.rows, [](const CsvRow& row) { return row.cells.size() > 1; });
  return found == table.rows.end() ? table.rows.front() : *found;
}

Error no_columns(const CsvTable& table, const std::string& log_name) {
  constexpr std::size_t shown = 12;
  const CsvRow& row = header_like(table);
  std::vector<std::string> names;
  for (const CsvCell& cell : std::span(row.cells).first(std::min(shown, row.cells.size())))
    names.push_back(fmt::format("'{}'", cell.text.substr(0, 40)));
  return {
      Fault::file, fmt::format("{}, line {}", log_name, row.line),
      fmt::format("has no columns of time and engine speed; there are {}", fmt::join(names, ", ")),
      "name them 'time (s)' and 'rpm' in the first line, separated by commas, semicolons or tabs"};
}

}  // namespace

LogColumns find_columns(const CsvTable& table, const std::string& log_name) {
  if (table.rows.empty())
    throw Error(Fault::file, log_name, "holds no rows", "export the log again");
  const std::size_t searched = std::min(longest_preamble, table.rows.size());
  for (std::size_t i = 0; i < searched; ++i) {
    auto columns = columns_from_header(table.rows[i]);
    if (!columns) continue;
    columns->first_row = i + 1;
    return *columns;
  }
  if (const auto columns = columns_by_position(table)) return *columns;
  throw no_columns(table, log_name);
}

}  // namespace howl
