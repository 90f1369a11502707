#pragma once

#include <vector>

#include "ui/look/text_field.h"

namespace howl::desk {

/// A place to type several lines in, broken to its width. Dear ImGui, which edits the text, breaks
/// none: it is given no colours, and what it edits is drawn over it. `typed` ends in a 0, and is as
/// large as the text may become. True if it changed. The caller has set font and colours.
bool wrapped_input(Frame& frame, const char* id, std::vector<char>& typed, const Area& area);

}  // namespace howl::desk
