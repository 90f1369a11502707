#pragma once

#include <string>

#include "src/analysis/analysis.h"

namespace howl::desk {

struct DeskState;

/// The tone that ranking and suspects are about: the one in the suspect band. Null where there is
/// none.
const ToneResult* tone_in_question(const DeskState& state);
/// The tone that is picked, where that is another; null where it is the same, or none is picked.
const ToneResult* tone_picked_elsewhere(const DeskState& state);
/// "About order 11.00 (tone1); picked: tone6, order 44.00"; empty where nothing else is picked.
std::string about_words(const DeskState& state);

}  // namespace howl::desk
