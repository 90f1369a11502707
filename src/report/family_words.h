#pragma once

#include <string>

#include "src/analysis/analysis.h"

namespace howl {

/// The tone by which a family is known: the first of its members in the analysis that is no
/// sideband, or the first of all where the carrier is not heard. Null if it has none there.
const ToneResult* head_of(const FamilyResult& family, const Analysis& analysis);

/// Whether a tone is told with its family's head: another member of it.
bool told_with_family(const ToneResult& tone, const Analysis& analysis);

/// "tone1 with 2x, 3x; sidebands at ±1.00 order, depth 20 % (15 … 25 %)"
std::string family_words(const FamilyResult& family, const Analysis& analysis);

}  // namespace howl
