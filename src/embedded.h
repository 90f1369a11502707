#pragma once

#include <string_view>

namespace howl {

/// A text file built into the program; `name` is its file name without the ending.
struct EmbeddedFile {
  std::string_view name;
  std::string_view text;
};

}  // namespace howl
