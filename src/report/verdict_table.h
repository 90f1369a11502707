#pragma once

#include <string>

#include "src/analysis/verdict.h"

namespace howl {

/// The verdict for a terminal, 80 columns wide: contradictions first, then suspects with what
/// speaks for and against them, what to test next, and what to repair in which order. Empty where
/// nobody is suspected.
std::string verdict_section(const Verdict& verdict);

}  // namespace howl
