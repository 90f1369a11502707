#pragma once

#include <vector>

#include "src/files/toml_reader.h"
#include "src/profile/source.h"

namespace howl {

/// Reads the key `makes`, a list of tables. Each says how often something happens in a turn of the
/// source's shaft, by one of
///   count      how many vanes, teeth, blades … pass; `times` = 2 if each is heard twice; `mate`,
///              teeth of the gear that they mesh with; `gerotor` = true, lobes in an outer rotor of
///              one more
///   poles      of an electric machine; `pulses` of force for each pair of them and turn: 6, unless
///              given (three phases, rectified)
///   per_turn   cycles, whole or not
///   bearing    { elements, ball, pitch, angle } or { elements, ball_to_pitch, angle }, "unknown"
///   planetary  { sun, ring, held, turning, planets, planet }: teeth; which member stands, which
///              one the source's shaft is; how many planets, and the teeth of one
/// `share` says how likely it is among them: left out everywhere, all are equally likely; given,
/// they sum to 1. Numbers may be ranges [low, high]. Throws Error that names line, key and remedy.
std::vector<Makes> read_makes(TomlReader& in);

/// Throws Error that names line, key and remedy where the `shares` given under `key` do not sum to
/// 1, rounding allowed for.
void require_whole(const TomlReader& in, std::string_view key, double shares);

}  // namespace howl
