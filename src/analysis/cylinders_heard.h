#pragma once

#include <optional>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"

namespace howl {

/// What speaks against the number of cylinders that the engine is said to have, in words; empty
/// where nothing does, or the number is not known.
///
/// A four-stroke engine is loudest at its firing orders, n/2 and its multiples (textbook). There is
/// a doubt where the first three of another usual number are all heard, locked to the engine, and
/// each is 6 dB stronger than every firing order of the stated number that is none of the other's;
/// 10 dB where they are all among the stated ones (our choice).
std::string doubt_of_cylinders(const std::vector<ToneResult>& tones, std::optional<int> cylinders);

}  // namespace howl
