#pragma once

#include <vector>

#include "src/files/toml_reader.h"
#include "src/profile/source.h"

namespace howl {

/// Reads the key `makes`, a list of tables. Each says how often something happens in a turn of the
/// source's shaft, by one of
///   count      how many vanes, teeth, blades … pass; `times` = 2 if each is heard twice
///   poles      of a three-phase machine whose rectified current ripples 6 times a pole pair
///   per_turn   cycles, whole or not
///   bearing    { elements, ball, pitch, angle } or { elements, ball_to_pitch, angle }, "unknown"
///   planetary  { sun, ring, held, turning, planets }: teeth; which member stands, which one the
///              source's shaft is
/// `share` says how likely it is among them: left out everywhere, all are equally likely; given,
/// they sum to 1. Numbers may be ranges [low, high]. Throws Error that names line, key and remedy.
std::vector<Makes> read_makes(TomlReader& in);

}  // namespace howl
