#include "src/report/svg_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstddef>
#include <map>

namespace howl::picture {
namespace {

/// What Cairo numbers through the whole process.
constexpr std::array<std::string_view, 2> kCounted{"surface", "image"};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::size_t digits_at(std::string_view text) {
  return static_cast<std::size_t>(std::find_if_not(text.begin(), text.end(), is_digit) -
                                  text.begin());
}

/// The counted word that `text` begins with, where a number follows; else empty.
std::string_view counted_word(std::string_view text) {
  for (const std::string_view word : kCounted) {
    if (text.starts_with(word) && digits_at(text.substr(word.size())) > 0) return word;
  }
  return {};
}

/// Ids occur as id="surface7", xlink:href="#image8" and url(#surface9): always after a quote or
/// '#'.
bool may_begin_id(char before) { return before == '"' || before == '#'; }

std::string renumbered(std::string_view svg) {
  std::map<std::string, std::size_t, std::less<>> numbers;
  std::string out;
  out.reserve(svg.size());
  for (std::size_t at = 0; at < svg.size();) {
    out += svg[at++];
    if (!may_begin_id(out.back())) continue;
    const std::string_view word = counted_word(svg.substr(at));
    if (word.empty()) continue;
    const std::size_t length = word.size() + digits_at(svg.substr(at + word.size()));
    const std::string id(svg.substr(at, length));
    out += fmt::format("{}{}", word, numbers.try_emplace(id, numbers.size() + 1).first->second);
    at += length;
  }
  return out;
}

}  // namespace

std::string xml_escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string settled_svg(std::string_view svg, std::string_view title,
                        std::span<const std::string> words) {
  std::string out = renumbered(svg);
  const std::size_t root = out.find("<svg");
  const std::size_t end = root == std::string::npos ? root : out.find('>', root);
  if (end != std::string::npos) {
    out.insert(end + 1, fmt::format("\n<title>{}</title>\n<desc>{}</desc>", xml_escaped(title),
                                    xml_escaped(fmt::format("{}", fmt::join(words, "\n")))));
  }
  return out;
}

}  // namespace howl::picture
