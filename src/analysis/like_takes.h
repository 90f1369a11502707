#pragma once

#include <cstddef>
#include <vector>

#include "src/analysis/take_audio.h"

namespace howl {

/// Holds are at like speed when their mean speeds lie within 3 %, sweeps when they begin and end
/// within 10 %; road speeds lie within 5 %, and are known or unknown in both.
bool like_speed(const TakeAudio& a, const TakeAudio& b);

/// Like speed and the same load state: their levels can be compared.
bool comparable(const TakeAudio& a, const TakeAudio& b);

/// Number of the condition that each take belongs to: comparable takes share one.
std::vector<std::size_t> conditions_of(const std::vector<TakeAudio>& takes);

/// Mean over the take in km/h; 0 where nothing says that the vehicle moved.
double mean_road_speed(const TakeAudio& take);

/// How far speeds of takes may differ that count as one speed, as a fraction.
inline constexpr double kLikeHold = 0.03;

}  // namespace howl
