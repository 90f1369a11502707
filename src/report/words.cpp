#include "src/report/words.h"

#include <algorithm>
#include <cstdint>
#include <optional>

namespace howl::picture {
namespace {

constexpr std::string_view kReplacement = "\uFFFD";
constexpr std::string_view kEllipsis = "…";

struct Lead {
  std::size_t length{};
  std::uint32_t bits{};
  std::uint32_t smallest{};
};

std::optional<Lead> lead_of(unsigned char byte) {
  if (byte < 0x80) return Lead{1, byte, 0};
  if ((byte & 0xE0U) == 0xC0) return Lead{2, byte & 0x1FU, 0x80};
  if ((byte & 0xF0U) == 0xE0) return Lead{3, byte & 0x0FU, 0x800};
  if ((byte & 0xF8U) == 0xF0) return Lead{4, byte & 0x07U, 0x10000};
  return std::nullopt;
}

struct Character {
  std::size_t length{};  ///< in bytes; 0 where the text does not begin with a well-formed one
  std::uint32_t code{};
};

/// What `text` begins with (RFC 3629).
Character character_at(std::string_view text) {
  const std::optional<Lead> lead = lead_of(static_cast<unsigned char>(text.front()));
  if (!lead || text.size() < lead->length) return {};
  std::uint32_t code = lead->bits;
  for (std::size_t i = 1; i < lead->length; ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    if ((byte & 0xC0U) != 0x80) return {};
    code = (code << 6U) | (byte & 0x3FU);
  }
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (code < lead->smallest || surrogate || code > 0x10FFFF) return {};
  return {lead->length, code};
}

std::size_t character_length(std::string_view text) { return character_at(text).length; }

/// C0, DEL and C1 controls, and what parts lines and paragraphs.
bool is_control(std::uint32_t code) {
  return code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x2028 || code == 0x2029;
}

/// What turns the direction of the text around it (Unicode UAX #9), with which words can be made to
/// read as others; and codes that are no characters, which XML does not allow.
bool is_treacherous(std::uint32_t code) {
  return (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069) ||
         (code >= 0xFDD0 && code <= 0xFDEF) || (code & 0xFFFEU) == 0xFFFE;
}

std::string_view shown_for(const Character& character, std::string_view bytes) {
  if (character.length == 0 || is_treacherous(character.code)) return kReplacement;
  return is_control(character.code) ? " " : bytes;
}

/// Ends of the characters of well-formed `text`, in bytes.
std::vector<std::size_t> character_ends(std::string_view text) {
  std::vector<std::size_t> ends;
  for (std::size_t at = 0; at < text.size();) {
    at += std::max<std::size_t>(1, character_length(text.substr(at)));
    ends.push_back(at);
  }
  return ends;
}

/// Bytes of the longest beginning, by whole characters, that keeps `fits`. Long texts are not
/// measured in full.
std::size_t longest_beginning(std::string_view text,
                              const std::function<bool(std::string_view)>& fits) {
  const std::vector<std::size_t> ends = character_ends(text);
  const auto fits_until = [&](std::size_t end) { return fits(text.substr(0, end)); };
  std::size_t count = std::min<std::size_t>(64, ends.size());
  while (count < ends.size() && fits_until(ends[count - 1]))
    count = std::min(2 * count, ends.size());
  const auto first_too_long = std::partition_point(
      ends.begin(), ends.begin() + static_cast<std::ptrdiff_t>(count), fits_until);
  return first_too_long == ends.begin() ? 0 : *(first_too_long - 1);
}

std::string_view without_outer_spaces(std::string_view text) {
  const std::size_t first = text.find_first_not_of(' ');
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(' ') - first + 1);
}

/// Bytes of the first line of `text`; at least one character.
std::size_t line_length(std::string_view text, double width, const Measure& measure) {
  const std::size_t fitting =
      longest_beginning(text, [&](std::string_view part) { return measure(part) <= width; });
  if (fitting == text.size()) return fitting;
  const std::size_t space = text.rfind(' ', fitting);
  if (space != std::string_view::npos && space > 0) return space;
  return std::max(fitting, character_ends(text).front());
}

}  // namespace

std::string printable(std::string_view text) {
  std::string clean;
  clean.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text.substr(at));
    const std::string_view bytes = text.substr(at, std::max<std::size_t>(1, character.length));
    clean += shown_for(character, bytes);
    at += bytes.size();
  }
  return clean;
}

std::string elided(std::string_view text, double width, const Measure& measure) {
  std::string clean = printable(text);
  if (measure(clean) <= width) return clean;
  if (measure(kEllipsis) > width) return {};
  const auto with_ellipsis = [](std::string_view part) {
    return std::string(part.substr(0, part.find_last_not_of(' ') + 1)).append(kEllipsis);
  };
  const std::size_t length = longest_beginning(
      clean, [&](std::string_view part) { return measure(with_ellipsis(part)) <= width; });
  return with_ellipsis(std::string_view(clean).substr(0, length));
}

std::vector<std::string> wrapped(std::string_view text, double width, std::size_t most_lines,
                                 const Measure& measure) {
  const std::string clean = printable(text);
  std::string_view rest = without_outer_spaces(clean);
  std::vector<std::string> lines;
  while (!rest.empty() && lines.size() < most_lines) {
    if (lines.size() + 1 == most_lines) {
      lines.push_back(elided(rest, width, measure));
      break;
    }
    const std::size_t length = line_length(rest, width, measure);
    lines.emplace_back(without_outer_spaces(rest.substr(0, length)));
    rest = without_outer_spaces(rest.substr(length));
  }
  return lines;
}

}  // namespace howl::picture
