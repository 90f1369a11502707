#pragma once

#include <cstddef>
#include <string>

#include "src/report/text_columns.h"

namespace howl {

/// A report in plain text: sections of paragraphs and tables, in columns of a terminal.
inline constexpr std::size_t page_width = 80;
inline constexpr std::size_t page_indent = 2;

inline std::string heading(const std::string& text) { return "\n" + text + "\n"; }
inline std::string paragraph(const std::string& text) {
  return wrapped(text, page_indent, page_width);
}

}  // namespace howl
