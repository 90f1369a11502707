#include "src/speed/log_cells.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <string>

#include "src/lower_case.h"

namespace howl {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_hex(char c) { return is_digit(c) || (lower_case(c) >= 'a' && lower_case(c) <= 'f'); }

std::optional<double> plain_number(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value{};
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (problem != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

/// Two digits at most, for hours, minutes and whole seconds.
std::optional<double> clock_part(std::string_view text, double below) {
  if (text.empty() || text.size() > 2 || !std::ranges::all_of(text, is_digit)) return std::nullopt;
  const auto value = plain_number(text);
  return value && *value < below ? value : std::nullopt;
}

std::string hexadecimal(std::string_view text) {
  std::string digits;
  for (const char c : lower_case(text))
    if (c != ' ') digits += c;
  if (digits.starts_with("0x")) digits.erase(0, 2);
  return digits;
}

}  // namespace

bool is_gap(const CsvCell& cell) {
  constexpr std::array<std::string_view, 14> words{
      "",  "-",    "--",      "n/a",    "na",    "nan",       "null",
      "?", "none", "no data", "nodata", "error", "can error", "stopped"};
  return std::ranges::find(words, lower_case(cell.text)) != words.end();
}

std::optional<double> number_in(const CsvCell& cell, bool comma_is_decimal) {
  std::string text(cell.text);
  const auto comma = text.rfind(',');
  if (comma == std::string::npos) return plain_number(text);
  const auto point = text.rfind('.');
  if (point != std::string::npos) {
    std::erase(text, comma > point ? '.' : ',');
    std::ranges::replace(text, ',', '.');
    return plain_number(text);
  }
  if (!comma_is_decimal && !cell.quoted) return std::nullopt;
  std::ranges::replace(text, ',', '.');
  return plain_number(text);
}

std::optional<double> clock_time_in(const CsvCell& cell) {
  std::string_view text = cell.text;
  if (text.ends_with('Z')) text.remove_suffix(1);
  const auto colon = text.find(':');
  if (colon == std::string_view::npos) return std::nullopt;
  const auto date_end = text.find_last_of(" T", colon);
  if (date_end != std::string_view::npos) text.remove_prefix(date_end + 1);

  const auto first = text.find(':');
  const auto second = text.find(':', first + 1);
  if (second == std::string_view::npos) return std::nullopt;
  const auto hours = clock_part(text.substr(0, first), 100.0);
  const auto minutes = clock_part(text.substr(first + 1, second - first - 1), 60.0);
  const std::string_view last = text.substr(second + 1);
  const auto fraction_at = std::min(last.find_first_of(".,"), last.size());
  const auto seconds = clock_part(last.substr(0, fraction_at), 61.0);
  if (!hours || !minutes || !seconds) return std::nullopt;
  double fraction = 0.0;
  if (fraction_at < last.size()) {
    const std::string_view digits = last.substr(fraction_at + 1);
    if (!std::ranges::all_of(digits, is_digit)) return std::nullopt;
    fraction = plain_number(fmt::format("0.{}", digits)).value_or(0.0);
  }
  return *hours * 3600.0 + *minutes * 60.0 + *seconds + fraction;
}

std::optional<unsigned> parameter_in(const CsvCell& cell) {
  std::string digits = hexadecimal(cell.text);
  if (digits.size() == 4 && (digits.starts_with("01") || digits.starts_with("41")))
    digits.erase(0, 2);
  if (digits.size() != 2 || !std::ranges::all_of(digits, is_hex)) return std::nullopt;
  unsigned value{};
  std::from_chars(digits.data(), digits.data() + digits.size(), value, 16);
  return value;
}

std::optional<std::uint32_t> answer_in(const CsvCell& cell, unsigned parameter, unsigned bytes) {
  std::string digits = hexadecimal(cell.text);
  const std::string echo = fmt::format("41{:02x}", parameter);
  const std::size_t length = std::size_t{2} * bytes;
  if (digits.size() == echo.size() + length && digits.starts_with(echo))
    digits.erase(0, echo.size());
  if (digits.size() != length || !std::ranges::all_of(digits, is_hex)) return std::nullopt;
  std::uint32_t value{};
  std::from_chars(digits.data(), digits.data() + digits.size(), value, 16);
  return value;
}

}  // namespace howl
