#pragma once

#include <span>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

/// Warnings of the whole case but those that its verdict tells first, as what does not fit.
std::vector<std::string> warnings_of_case(const Analysis& analysis);
/// Warnings of the takes with these ids, each once: "t01 to t03, t07: clipped".
std::vector<std::string> warnings_of_takes(const Analysis& analysis,
                                           std::span<const std::string> takes);
/// Of all takes.
std::vector<std::string> warnings_of_takes(const Analysis& analysis);
/// Warnings of the ranked points, each once: "bell housing, gearbox case: the level is at most
/// this".
std::vector<std::string> warnings_of_points(const Analysis& analysis);

}  // namespace howl
