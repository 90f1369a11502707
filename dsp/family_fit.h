#pragma once

#include <span>

#include "dsp/line_relations.h"
#include "dsp/tone_families.h"

namespace howl {

/// Fills in what the members of a family say of it: base, spacing, modulations; sorts the members.
/// Needs the members and, where there are sidebands, a spacing. Base and spacing are weighted means
/// of what each member says, a harmonic's error divided by its number, with errors widened by the
/// ratio of Birge where members disagree more than they should. Where the two strongest lines of a
/// lone carrier lie two spacings apart with none between, the carrier is taken to be missing there.
void describe_family(LineFamily& family, std::span<const FamilyLine> lines);

}  // namespace howl
