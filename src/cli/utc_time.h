#pragma once

#include <string>

namespace howl {

/// Now, as ISO 8601 date and time to the second: "2024-05-31T14:02:59Z".
std::string utc_now();

}  // namespace howl
