#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "src/speed/csv_rows.h"

namespace howl {

/// Empty, or one of the words that loggers write where no answer came: "NO DATA", "n/a", "-" …
bool is_gap(const CsvCell& cell);

/// A finite number. With `comma_is_decimal` (or in quotes) 12,5 is twelve and a half; where both
/// signs occur the last one is the decimal sign.
std::optional<double> number_in(const CsvCell& cell, bool comma_is_decimal);

/// hh:mm:ss with or without a fraction, after a date or alone: seconds since midnight.
std::optional<double> clock_time_in(const CsvCell& cell);

/// "0C", "0x0C", "010C" or "410C" read as the parameter 0x0C of service 01 (SAE J1979).
std::optional<unsigned> parameter_in(const CsvCell& cell);

/// The data bytes of an answer of service 01 in hexadecimal, with or without its "41 0C" in front,
/// as one number. None if it is not exactly `bytes` long.
std::optional<std::uint32_t> answer_in(const CsvCell& cell, unsigned parameter, unsigned bytes);

}  // namespace howl
