#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "src/analysis/take_audio.h"

namespace howl {

/// Holds are at like speed when their mean speeds lie within 3 %, sweeps when they begin and end
/// within 10 %; road speeds lie within 5 %, and are known or unknown in both.
bool like_speed(const TakeAudio& a, const TakeAudio& b);

/// Road speeds lie within 5 %, and are known or unknown in both.
bool like_road(const TakeAudio& a, const TakeAudio& b);

/// Like speed and the same load state: their levels can be compared.
bool comparable(const TakeAudio& a, const TakeAudio& b);

/// Number of the condition that each take belongs to: comparable takes share one.
std::vector<std::size_t> conditions_of(const std::vector<TakeAudio>& takes);

/// Mean over the take in km/h; 0 where nothing says that the vehicle moved.
double mean_road_speed(const TakeAudio& take);

/// Where nobody wrote down a road speed, the vehicle stood. Once it moved in one take, it may have
/// moved in any take that does not say.
void mark_unknown_motion(std::vector<TakeAudio>& takes);

/// Crankshaft speed, averaged over the part of the take that is not left out (over all of it, where
/// next to nothing is left).
double mean_rpm(const TakeAudio& take);

/// "1500 rpm, ac on", "900 to 3000 rpm, 50 km/h"
std::string describe_condition(const TakeAudio& take);

/// How far speeds of takes may differ that count as one speed, as a fraction.
inline constexpr double kLikeHold = 0.03;
inline constexpr double kLikeRoad = 0.05;  ///< of road speeds

}  // namespace howl
