#pragma once

#include <span>
#include <string>

namespace howl {

/// Ids as people list them: "t01, t04 to t07"; three or more in a row are drawn together. "-" for
/// none.
std::string take_list(std::span<const std::string> ids);

}  // namespace howl
