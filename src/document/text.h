#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "src/document/document.h"

namespace howl::document {

/// A text as it is shown: at least one line, each printable() (src/report/words.h). Line feeds part
/// lines; a carriage return before one goes, alone it parts lines too.
std::vector<std::string> text_lines(std::string_view text);

/// A space between a number and its unit ("43 %"), at which no line may end: its place, and that of
/// the end of the unit.
struct UnitGap {
  std::size_t space{};
  std::size_t unit_end{};
};
std::vector<UnitGap> unit_gaps(std::string_view text);

/// All that a document says, in the order in which it is read, a text each; with the tables behind
/// figures only if `with_figures_behind`. For tests, and for whoever needs the plain words.
std::vector<std::string> texts_of(const Document& document, bool with_figures_behind);

}  // namespace howl::document
