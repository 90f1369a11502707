#pragma once

#include <optional>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Listens to a take for the engine's speed and compares it with the take's own.
///
/// From 1.5 % disagreement on there is a warning that names both, as there is for a hold whose
/// speed moved by more than 4 % (order 25 then smears over its neighbours: our choice). Where the
/// sound does not settle the speed, nothing is said against what was written down. `cylinders` of
/// the engine where known.
/// What it settles is written into the take.
SoundSpeed check_speed(TakeAudio& take, std::optional<int> cylinders,
                       std::vector<std::string>& warnings);

/// From which disagreement on the sound contradicts a speed, as a fraction.
inline constexpr double kDisagreement = 0.015;

/// Whether the sound settles another speed than the take's own.
bool contradicts_speed(const SoundSpeed& heard);
/// The same, of a take that check_speed has listened to.
bool contradicts_speed(const TakeAudio& take);

/// Takes of a tone whose sound contradicts their speed, where they are more than a quarter of its
/// takes: its order and what its pitch follows then rest on speeds that are wrong. Else empty.
std::vector<std::string> contradicted_takes(const Analysis& analysis, const ToneResult& tone);

/// Shifts a logged speed to where the sound says that it belongs, if that is clear; says so in
/// `warnings` where it moves by more than 0.1 s, with what is then without a speed, and where the
/// speed changes and it is not clear. Leaves other sources alone.
void align_log(TakeAudio& take, std::vector<std::string>& warnings);

}  // namespace howl
