#include "src/speed/speed_log.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>

#include "dsp/statistics.h"
#include "src/case/speed_limits.h"
#include "src/errors.h"
#include "src/files/read_file.h"
#include "src/speed/coverage.h"
#include "src/speed/csv_rows.h"
#include "src/speed/log_cells.h"
#include "src/speed/log_columns.h"

namespace howl {

namespace {

constexpr std::size_t largest_log_bytes = 64'000'000;
constexpr double longest_gap_seconds = 2.0;
constexpr double usual_step_seconds = 1.0;  // of a logger; then a row at least is missing in a gap
constexpr double clock_distance_seconds = 60.0;
constexpr double latest_time_seconds = 1e11;  // some thousand years
constexpr double half_day = 43'200.0;

/// One row of the log as it stands, time still in the log's own unit.
struct LogRow {
  std::size_t line{};
  double time{};
  std::optional<double> rpm;
  std::optional<double> kmh;
};

struct RawLog {
  std::string name;
  std::vector<LogRow> rows;
  bool clock{};  ///< times are hh:mm:ss, in seconds
  std::optional<double> seconds_per_unit;
  std::size_t without_time{};
  std::size_t without_answer{};
};

std::string at_line(const std::string& log_name, std::size_t line) {
  return fmt::format("{}, line {}", log_name, line);
}

const CsvCell& cell_at(const CsvRow& row, std::size_t column) {
  static const CsvCell nothing{};
  return column < row.cells.size() ? row.cells[column] : nothing;
}

/// ---- reading rows ----

class RowReader {
 public:
  RowReader(const CsvTable& table, const LogColumns& columns, std::string log_name)
      : table_(table), columns_(columns), comma_is_decimal_(table.separator != ',') {
    log_.name = std::move(log_name);
    log_.seconds_per_unit = columns.seconds_per_unit;
  }

  RawLog read() && {
    log_.rows.reserve(table_.rows.size());
    for (const CsvRow& row : std::span(table_.rows).subspan(columns_.first_row)) read_row(row);
    return std::move(log_);
  }

 private:
  void read_row(const CsvRow& row) {
    require_cells(row);
    const CsvCell& cell = cell_at(row, columns_.time);
    if (is_gap(cell)) {
      ++log_.without_time;
      return;
    }
    LogRow read{.line = row.line, .time = time_in(row, cell), .rpm = {}, .kmh = {}};
    columns_.rows ? read_answer(row, read) : read_wide(row, read);
    log_.rows.push_back(read);
  }

  void require_cells(const CsvRow& row) const {
    if (columns_.header_cells == 0 || row.cells.size() <= columns_.header_cells) return;
    const auto beyond = std::span(row.cells).subspan(columns_.header_cells);
    if (std::ranges::all_of(beyond, [](const CsvCell& cell) { return cell.text.empty(); })) return;
    throw Error(Fault::file, at_line(log_.name, row.line),
                fmt::format("has {} cells where the header has {}", row.cells.size(),
                            columns_.header_cells),
                "export numbers with a decimal point, or separate the columns by semicolons");
  }

  double time_in(const CsvRow& row, const CsvCell& cell) {
    if (const auto number = number_in(cell, comma_is_decimal_)) return *number;
    if (const auto clock = clock_time_in(cell)) {
      log_.clock = true;
      return *clock;
    }
    throw Error(Fault::file, at_line(log_.name, row.line),
                fmt::format("'{}' is not a time", cell.text.substr(0, 40)),
                "write seconds, milliseconds or hh:mm:ss");
  }

  std::optional<double> value_in(const CsvRow& row, std::size_t column, std::string_view what) {
    const CsvCell& cell = cell_at(row, column);
    if (is_gap(cell)) return std::nullopt;
    const auto number = number_in(cell, comma_is_decimal_);
    if (!number)
      throw Error(Fault::file, at_line(log_.name, row.line),
                  fmt::format("'{}' is not {}", cell.text.substr(0, 40), what),
                  "write a plain number, or leave the cell empty");
    return number;
  }

  void read_wide(const CsvRow& row, LogRow& into) {
    into.rpm = value_in(row, columns_.rpm, "an engine speed");
    if (columns_.road) into.kmh = value_in(row, *columns_.road, "a road speed");
    if (into.kmh) *into.kmh *= columns_.kmh_per_unit;
  }

  /// SAE J1979, service 01: 0C is (256 A + B)/4 rpm, 0D is A km/h; other parameters are passed
  /// over.
  void read_answer(const CsvRow& row, LogRow& into) {
    constexpr unsigned engine_speed = 0x0C;
    constexpr unsigned road_speed = 0x0D;
    const auto parameter = parameter_in(cell_at(row, columns_.rows->parameter));
    const CsvCell& answer = cell_at(row, columns_.rows->answer);
    if (parameter == engine_speed) {
      if (const auto raw = answer_in(answer, engine_speed, 2)) into.rpm = *raw / 4.0;
      if (!into.rpm) ++log_.without_answer;
    } else if (parameter == road_speed) {
      if (const auto raw = answer_in(answer, road_speed, 1)) into.kmh = *raw;
    }
  }

  const CsvTable& table_;
  const LogColumns& columns_;
  bool comma_is_decimal_;
  RawLog log_;
};

// ---- times ----

/// Steps between rows that carry a speed, in the log's unit.
std::vector<double> steps_of(std::span<const LogRow> rows) {
  std::vector<double> steps;
  std::optional<double> before;
  for (const LogRow& row : rows) {
    if (!row.rpm) continue;
    if (before && row.time > *before) steps.push_back(row.time - *before);
    before = row.time;
  }
  return steps;
}

/// Loggers answer between once in five seconds and 200 times a second. Between the clear cases the
/// unit counts whose span comes nearer to the recording's length.
double guessed_unit(const RawLog& log, Seconds length) {
  constexpr double surely_seconds = 5.0;
  constexpr double surely_milliseconds = 100.0;
  const std::vector<double> steps = steps_of(log.rows);
  if (steps.empty()) return 1.0;
  const double step = median(steps);
  if (step < surely_seconds) return 1.0;
  if (step >= surely_milliseconds) return 1e-3;
  const double span = log.rows.back().time - log.rows.front().time;
  const double middle_of_both = length.value * std::sqrt(1000.0);
  return span > middle_of_both ? 1e-3 : 1.0;
}

void settle_unit(RawLog& log, Seconds length, std::vector<std::string>& warnings) {
  if (log.clock) return;
  if (!log.seconds_per_unit) {
    log.seconds_per_unit = guessed_unit(log, length);
    warnings.push_back(fmt::format("speed log: times have no unit and are taken as {}",
                                   *log.seconds_per_unit < 1.0 ? "milliseconds" : "seconds"));
  }
  for (LogRow& row : log.rows) {
    row.time *= *log.seconds_per_unit;
    if (std::abs(row.time) > latest_time_seconds)
      throw Error(Fault::file, at_line(log.name, row.line),
                  fmt::format("{:g} s cannot be a time", row.time),
                  "write seconds, milliseconds or hh:mm:ss");
  }
}

void carry_over_midnight(RawLog& log) {
  if (!log.clock) return;
  double days = 0.0;
  double before = log.rows.empty() ? 0.0 : log.rows.front().time;
  for (LogRow& row : log.rows) {
    const double today = row.time;
    if (today < before - half_day) days += 2.0 * half_day;
    before = today;
    row.time += days;
  }
}

void require_forward(const RawLog& log) {
  for (std::size_t i = 1; i < log.rows.size(); ++i) {
    if (log.rows[i].time >= log.rows[i - 1].time) continue;
    throw Error(Fault::file, at_line(log.name, log.rows[i].line),
                fmt::format("time goes backwards, from {:.3f} to {:.3f} s", log.rows[i - 1].time,
                            log.rows[i].time),
                "keep one log in the file, sorted by time");
  }
}

void start_at_zero_if_clock(RawLog& log, Seconds length, std::vector<std::string>& warnings) {
  if (log.rows.empty()) return;
  const double first = log.rows.front().time;
  if (first <= length.value + clock_distance_seconds) return;
  for (LogRow& row : log.rows) row.time -= first;
  warnings.emplace_back(
      "speed log: times are a clock's; its first row is taken as the start of the recording");
}

// ---- speeds ----

void require_plausible(const RawLog& log) {
  for (const LogRow& row : log.rows) {
    if (!row.rpm || *row.rpm == 0.0 || plausible(Rpm(*row.rpm))) continue;
    throw Error(Fault::file, at_line(log.name, row.line),
                fmt::format("{:g} rpm cannot be an engine speed", *row.rpm),
                fmt::format("correct that row, or empty the cell; speeds go to {:.0f} rpm",
                            highest_speed.value));
  }
}

bool during(const LogRow& row, Seconds length) {
  return row.time >= 0.0 && row.time <= length.value;
}

void require_running(const RawLog& log, Seconds length) {
  for (const LogRow& row : log.rows) {
    if (row.rpm != 0.0 || !during(row, length)) continue;
    throw Error(
        Fault::file, at_line(log.name, row.line),
        fmt::format("the engine stands still (0 rpm) at {:.2f} s of the recording", row.time),
        "record while the engine runs, or cut the recording and its log");
  }
}

/// The rows with a running engine; of equal times the first.
void collect(const RawLog& log, SpeedLog& into) {
  std::size_t repeated = 0;
  for (const LogRow& row : log.rows) {
    if (row.rpm && *row.rpm > 0.0) {
      if (!into.points.empty() && row.time <= into.points.back().time.value)
        ++repeated;
      else
        into.points.push_back({Seconds(row.time), Rpm(*row.rpm)});
    }
    const bool road_is_new = into.road.empty() || row.time > into.road.back().time.value;
    if (row.kmh && *row.kmh >= 0.0 && road_is_new)
      into.road.push_back({Seconds(row.time), *row.kmh});
  }
  if (repeated > 0)
    into.warnings.push_back(fmt::format(
        "speed log: {} rows repeat the time of the row before and are left out", repeated));
}

void warn_of_unread_rows(const RawLog& log, std::vector<std::string>& warnings) {
  if (log.without_time > 0)
    warnings.push_back(
        fmt::format("speed log: {} rows without a time are left out", log.without_time));
  if (log.without_answer > 0)
    warnings.push_back(fmt::format(
        "speed log: {} rows of engine speed hold no answer and are left out", log.without_answer));
}

/// Where more than 2 s of the recording lie between two rows.
TimeSpans gaps_of(const SpeedLog& log, Seconds length) {
  TimeSpans gaps;
  for (std::size_t i = 1; i < log.points.size(); ++i) {
    const Interval between{log.points[i - 1].time.value, log.points[i].time.value};
    if (between.width() > longest_gap_seconds && between.high >= 0.0 && between.low <= length.value)
      gaps.push_back(between);
  }
  return gaps;
}

bool is_sparse(const SpeedLog& log) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < log.points.size(); ++i)
    steps.push_back((log.points[i].time - log.points[i - 1].time).value);
  return steps.empty() || median(steps) > usual_step_seconds;
}

void find_known(SpeedLog& log, Seconds length) {
  log.known = {{log.points.front().time.value, log.points.back().time.value}};
  const TimeSpans gaps = gaps_of(log, length);
  if (!gaps.empty() && is_sparse(log)) {
    log.warnings.push_back(
        fmt::format("speed log: no speed for more than 2 s, {}; taken as changing evenly there",
                    places_of(gaps)));
    return;
  }
  for (const Interval& gap : gaps) {
    const double end = log.known.back().high;
    log.known.back().high = gap.low;
    log.known.push_back({gap.high, end});
  }
}

void require_text(std::string_view text, const std::string& log_name) {
  if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF"))
    throw Error(Fault::file, log_name, "is text in UTF-16", "save it as CSV in UTF-8");
  if (text.find('\0') != std::string_view::npos)
    throw Error(Fault::file, log_name, "is not a text file", "export the log as CSV");
}

}  // namespace

SpeedLog parse_speed_log(std::string_view text, const std::string& log_name, Seconds length) {
  require_text(text, log_name);
  const CsvTable table = csv_table(text);
  const LogColumns columns = find_columns(table, log_name);
  RawLog raw = RowReader(table, columns, log_name).read();

  SpeedLog log;
  settle_unit(raw, length, log.warnings);
  carry_over_midnight(raw);
  require_forward(raw);
  start_at_zero_if_clock(raw, length, log.warnings);
  require_plausible(raw);
  require_running(raw, length);
  collect(raw, log);
  warn_of_unread_rows(raw, log.warnings);
  if (log.points.empty())
    throw Error(Fault::file, log_name,
                columns.rows ? "has no answer for engine speed (parameter 0C)"
                             : "has no row with an engine speed",
                "log engine speed together with the recording");
  require_coverage(log.points.front().time, log.points.back().time, length, log_name,
                   "log during the whole recording; times count from its start");
  find_known(log, length);
  return log;
}

SpeedLog read_speed_log(const std::filesystem::path& file, Seconds length) {
  const std::string text = read_text_file(file, largest_log_bytes);
  return parse_speed_log(text, file.string(), length);
}

}  // namespace howl
