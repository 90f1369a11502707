#pragma once

#include <string>
#include <string_view>

#include "src/case/case.h"

namespace howl {

inline constexpr double most_pulses_per_revolution = 1000.0;
inline constexpr double highest_road_speed_kmh = 500.0;
inline constexpr double shortest_take_seconds = 0.5;

/// A relative path that stays inside the folder it starts from: no "..", not absolute, no NUL.
bool leads_inside(std::string_view path);

/// A file name that any system takes, from any bytes: letters, digits, ".", "-", "_" and whole
/// non-ASCII characters of UTF-8 stay, all else becomes "_". At most 80 bytes, the ending kept.
std::string sanitised_name(std::string_view name);

/// What can be judged of a take before its recording is opened: point, channels, road speed,
/// pulses. Throws Error with Fault::command.
void require_sound_request(const Take& take);

/// The take's channels against those of the recording. Throws Error with Fault::command.
void require_channels(const Take& take, int channels, const std::string& recording);

}  // namespace howl
