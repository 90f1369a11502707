#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "src/speed/csv_rows.h"

namespace howl {

/// Where a log has what. A log in rows has one value a row, with its parameter beside it.
struct LogColumns {
  std::size_t time{};
  std::optional<double> seconds_per_unit{};  ///< of the time column; none: not written
  std::size_t rpm{};
  std::optional<std::size_t> road{};
  double kmh_per_unit{1.0};

  struct Rows {
    std::size_t parameter{};
    std::size_t answer{};
  };
  std::optional<Rows>
      rows{};               ///< service 01 answers, one a row; then `rpm` and `road` mean nothing
  std::size_t first_row{};  ///< of the table, with data
  std::size_t header_cells{};
};

/// Finds the columns by their names (any case, with units in brackets or behind), or without a
/// header by position: time first, then engine speed. Throws Error naming the columns there are.
LogColumns find_columns(const CsvTable& table, const std::string& log_name);

}  // namespace howl
