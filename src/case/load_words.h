#pragma once

#include <string>
#include <vector>

#include "src/case/case.h"

namespace howl {

/// One text for each thing that was loaded, as the user enters it: "ac=on".
std::vector<std::string> load_pairs(const LoadState& load);

}  // namespace howl
