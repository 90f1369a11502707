#pragma once

#include <imgui.h>

#include <cstddef>
#include <string_view>
#include <vector>

namespace howl::desk {

/// Bytes of a text that stand on one line. What ends a line (a line end, or nothing where only the
/// width does) is in none.
struct LineSpan {
  std::size_t from{};
  std::size_t to{};
};

/// Text that is being typed, broken to a width: at line ends, after spaces, or within a word that
/// is longer than a line. Nothing is left out: spaces at which it breaks end their line. At least
/// one line.
std::vector<LineSpan> wrapped_lines(const ImFont* font, float width, std::string_view text);

/// The line on which the cursor before byte `at` stands.
std::size_t line_of(const std::vector<LineSpan>& lines, std::size_t at);
/// The place in a line that is nearest to `x` pixels from its beginning.
std::size_t place_in_line(const ImFont* font, std::string_view text, const LineSpan& line, float x);

}  // namespace howl::desk
