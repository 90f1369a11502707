#pragma once

#include <string>

#include "src/analysis/comparison.h"

namespace howl {

/// A comparison as a page of plain text, 80 columns wide: the verdict first.
std::string comparison_table(const Case& before, const Case& after, const Comparison& comparison);

}  // namespace howl
