#pragma once

#include <string_view>

namespace howl {

/// A file that was built into the program; `name` is without folder.
struct EmbeddedFile {
  std::string_view name;
  std::string_view content;
};

}  // namespace howl
