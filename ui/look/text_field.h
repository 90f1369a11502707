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

inline constexpr float kFieldPad = 9;  ///< about what is typed in several lines
/// What a field of several lines needs for all of its text, which it breaks to its width.
float wrapped_height(const Frame& frame, float width, std::string_view text);

/// While something is typed: whether a key, named as in key_list(), is the field's. Tab and
/// Ctrl+Enter lead out of each; up and down mean nothing in a field of one line.
bool is_key_of_field(std::string_view key);

/// A place to type in. Text that something else changes meanwhile ends the typing.
Typed text_field(Frame& frame, std::string_view name, const Area& area, const FieldWords& words);

}  // namespace howl::desk
