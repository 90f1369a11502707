#pragma once

#include <string>
#include <string_view>

namespace howl {

/// RFC 4648, clause 4: with padding, without line ends.
std::string base64_of(std::string_view bytes);

}  // namespace howl
