#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace howl::picture {

/// Well-formed UTF-8 on one line: malformed bytes, codes that are no characters and those that turn
/// the direction of the text around them become U+FFFD, control characters and line ends spaces.
std::string printable(std::string_view text);

/// Length of a text as it will be drawn.
using Measure = std::function<double(std::string_view)>;

/// `text`, or its longest beginning with "…" that is at most `width` long; empty where not even "…"
/// fits. Never cuts inside a character.
std::string elided(std::string_view text, double width, const Measure& measure);

/// Lines of at most `width`, broken at spaces, or inside a word that is longer than a line. Where
/// `most_lines` do not hold it all, the last one ends in "…".
std::vector<std::string> wrapped(std::string_view text, double width, std::size_t most_lines,
                                 const Measure& measure);

}  // namespace howl::picture
