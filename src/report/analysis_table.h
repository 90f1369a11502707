#pragma once

#include <string>

#include "src/analysis/analysis.h"

namespace howl {

/// The analysis for people: plain UTF-8 text, at most 100 columns wide where names allow. The first
/// lines answer the question; tables, warnings, advice and cautions follow.
std::string analysis_table(const Case& value, const Analysis& analysis);

}  // namespace howl
