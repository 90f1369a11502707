#pragma once

#include <string>

#include "src/speed/speed_of_take.h"

namespace howl {

/// "found in the sound: 1800 rpm (95 %: 1799.1 to 1800.9)", and what it may be instead; one line
/// without a line feed.
std::string found_words(const FoundSpeed& found);

}  // namespace howl
