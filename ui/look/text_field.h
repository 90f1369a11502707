#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "ui/look/frame.h"

namespace howl::desk {

struct FieldWords {
  std::string text;
  std::string_view hint{};    ///< shown while it is empty
  std::size_t longest{1000};  ///< bytes
  bool begin{};               ///< typing goes here from now on
  bool lines{};               ///< several of them
};
struct Typed {
  std::string text;
  bool changed{};
  bool finished{};  ///< typing ended, and had changed it
};

/// A place to type in. Text that something else changes meanwhile ends the typing.
Typed text_field(Frame& frame, std::string_view name, const Area& area, const FieldWords& words);

}  // namespace howl::desk
