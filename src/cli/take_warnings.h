#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "src/case/case.h"

namespace howl {

/// How well a stored take was recorded, as `analyse` will judge it too: said at once, while the
/// vehicle is still there. The reference channel is judged as well.
std::vector<std::string> take_warnings(const std::filesystem::path& folder, const Take& take,
                                       std::optional<int> cylinders);

}  // namespace howl
