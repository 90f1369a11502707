#include "src/entry/typed_values.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>

#include "src/case/speed_limits.h"
#include "src/errors.h"

namespace howl {
namespace {

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blank = " \t";
  const auto first = text.find_first_not_of(blank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(blank) - first + 1);
}

template <class Number>
std::optional<Number> whole_text_as(std::string_view text) {
  text = trimmed(text);
  if (text.starts_with('+')) text.remove_prefix(1);
  Number value{};
  const char* const end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc{} || stop != end || text.empty()) return std::nullopt;
  return value;
}

[[noreturn]] void refuse(std::string_view option, std::string_view text, std::string problem,
                         std::string remedy) {
  throw Error(Fault::command, fmt::format("{} {}", option, text), std::move(problem),
              std::move(remedy));
}

/// "1800,5" with a point for its comma; none if that makes no number either.
std::optional<std::string> with_decimal_point(std::string_view text) {
  std::string with_point(text);
  const auto comma = with_point.find(',');
  if (comma == std::string::npos) return std::nullopt;
  with_point[comma] = '.';
  return whole_text_as<double>(with_point) ? std::optional(with_point) : std::nullopt;
}

/// "1,800" without its comma; none where the comma cannot part thousands.
std::optional<std::string> without_thousands_comma(std::string_view text) {
  constexpr std::size_t thousands = 3;
  std::string digits(trimmed(text));
  const auto comma = digits.find(',');
  if (comma == std::string::npos || comma == 0 || comma > thousands || digits.front() == '0' ||
      digits.size() != comma + 1 + thousands)
    return std::nullopt;
  digits.erase(comma, 1);
  const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
  return std::ranges::all_of(digits, is_digit) ? std::optional(digits) : std::nullopt;
}

/// Both sides of the first `separator`; none if it is missing.
std::optional<std::pair<std::string_view, std::string_view>> split(std::string_view text,
                                                                   char separator) {
  const auto at = text.find(separator);
  if (at == std::string_view::npos) return std::nullopt;
  return std::pair(text.substr(0, at), text.substr(at + 1));
}

std::vector<std::string_view> parts(std::string_view text, char separator) {
  std::vector<std::string_view> result;
  while (const auto pair = split(text, separator)) {
    result.push_back(pair->first);
    text = pair->second;
  }
  result.push_back(text);
  return result;
}

SpeedPoint ramp_point_of(std::string_view text, std::string_view option) {
  const auto pair = split(text, ':');
  if (!pair)
    refuse(option, text, "a point of a ramp is TIME:RPM, in seconds and rpm",
           "write for example 0:800,12.5:3000");
  return {Seconds(not_negative_of(pair->first, option)), rpm_of(pair->second, option)};
}

std::pair<std::string, std::string> point_pair_of(std::string_view text, std::string_view option) {
  const std::size_t sign = text.find('=');
  if (sign == std::string_view::npos || sign == 0 || sign + 1 == text.size())
    refuse(option, text, "a renamed point is BEFORE=AFTER",
           fmt::format("write for example {} \"pan=transmission pan\"", option));
  return {std::string(text.substr(0, sign)), std::string(text.substr(sign + 1))};
}

}  // namespace

double number_of(std::string_view text, std::string_view option) {
  const auto value = whole_text_as<double>(text);
  if (value && std::isfinite(*value)) return *value;
  if (const auto meant = without_thousands_comma(text))
    refuse(option, text, "a comma may part thousands or stand for the decimal point",
           fmt::format("write {} without it", *meant));
  if (const auto meant = with_decimal_point(text))
    refuse(option, text, "the decimal sign is a point, not a comma",
           fmt::format("write {}, not {}", *meant, text));
  refuse(option, text, "this is not a number", "write plain digits, for example 1800 or 1800.5");
}

double positive_of(std::string_view text, std::string_view option) {
  const double value = number_of(text, option);
  if (value <= 0.0) refuse(option, text, "the number must be above 0", "give the real value");
  return value;
}

double not_negative_of(std::string_view text, std::string_view option) {
  const double value = number_of(text, option);
  if (value < 0.0) refuse(option, text, "the number must not be negative", "give the real value");
  return value;
}

Rpm rpm_of(std::string_view text, std::string_view option) {
  const Rpm speed(number_of(text, option));
  if (plausible(speed)) return speed;
  refuse(option, text,
         fmt::format("engine speed lies above 0 and up to {:.0f} rpm", highest_speed.value),
         "give the crankshaft speed in revolutions per minute");
}

Rpm held_rpm_of(std::string_view text, std::string_view option) {
  const Rpm speed = rpm_of(text, option);
  if (speed >= lowest_held_speed) return speed;
  refuse(option, text, fmt::format("no engine runs below {:.0f} rpm", lowest_held_speed.value),
         "give the crankshaft speed in revolutions per minute, 0 for an engine that is off");
}

std::vector<SpeedPoint> ramp_of(std::string_view text, std::string_view option) {
  std::vector<SpeedPoint> points;
  for (const std::string_view part : parts(text, ',')) {
    const SpeedPoint point = ramp_point_of(part, option);
    if (!points.empty() && point.time <= points.back().time)
      refuse(option, text, "the times of a ramp must rise from point to point",
             "write the points in the order of time, for example 0:800,12.5:3000");
    points.push_back(point);
  }
  if (points.size() < 2)
    refuse(option, text, "a ramp needs two points or more",
           "write for example 0:800,12.5:3000, or give a steady speed");
  return points;
}

std::vector<Rpm> holds_of(std::string_view text, std::string_view option) {
  std::vector<Rpm> holds;
  for (const std::string_view part : parts(text, ','))
    holds.push_back(number_of(part, option) == 0.0 ? Rpm(0.0) : held_rpm_of(part, option));
  return holds;
}

Interval range_of(std::string_view text, std::string_view option) {
  const auto pair = split(text, ':');
  if (!pair) refuse(option, text, "a band is LOW:HIGH", "write for example 300:400");
  const Interval range{positive_of(pair->first, option), positive_of(pair->second, option)};
  if (range.low < range.high) return range;
  if (range.low > range.high)
    refuse(option, text, "the low end of the band must be below its high end",
           fmt::format("write {} {}:{}", option, pair->second, pair->first));
  refuse(option, text, "the band is empty", "give two different ends, for example 300:400");
}

std::pair<std::string, std::string> key_value_of(std::string_view text, std::string_view option) {
  const auto pair = split(text, '=');
  if (pair) {
    const std::string_view key = trimmed(pair->first);
    const std::string_view value = trimmed(pair->second);
    if (!key.empty() && !value.empty()) return {std::string(key), std::string(value)};
  }
  refuse(option, text, "a load state is KEY=VALUE", "write for example ac=on");
}

std::map<std::string, std::string> point_pairs_of(const std::vector<std::string>& texts,
                                                  std::string_view option) {
  std::map<std::string, std::string> pairs;
  for (const std::string& text : texts) {
    const auto pair = point_pair_of(text, option);
    if (!pairs.insert(pair).second)
      refuse(option, text, fmt::format("'{}' was given another name already", pair.first),
             "give each point of the case before one name");
  }
  return pairs;
}

int channel_of(std::string_view text, std::string_view option) {
  const auto value = whole_text_as<int>(text);
  if (value && *value >= 1) return *value;
  refuse(option, text, "channels are whole numbers from 1", "write 1 for the first channel");
}

int count_of(std::string_view text, std::string_view option) {
  const auto value = whole_text_as<int>(text);
  if (value && *value >= 1) return *value;
  refuse(option, text, "a count is a whole number from 1", "count again, for example 8");
}

std::pair<double, double> lengths_of(std::string_view text, std::string_view option) {
  const auto pair = split(text, ':');
  if (!pair)
    refuse(option, text, "two lengths are FIRST:SECOND", fmt::format("write {} 160:55", option));
  return {positive_of(pair->first, option), positive_of(pair->second, option)};
}

}  // namespace howl
