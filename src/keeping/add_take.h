#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/speed/speed_of_take.h"

namespace howl {

struct NewTake {
  std::filesystem::path recording;
  std::optional<std::filesystem::path> log;  ///< set if and only if the speed is logged
  Take take;
  bool make_point{};  ///< add the point to the case if it is unknown
  /// Move `recording`, which lies on the disk of the case, instead of copying it.
  bool move_recording{};
};

/// What was stored, and what the user should know of it: speed repaired, a recording that is there
/// already. How well it was recorded is judged by judge_quality().
struct AddedTake {
  Take take;
  std::vector<std::string> warnings;
  std::optional<FoundSpeed> found;  ///< where the speed was to be found in the sound
};

/// What is to be said where another take of the case holds the same channel of the same recording.
std::optional<std::string> repeated_take(const Case& value, const Take& take);

/// Copies `recording` (and `log`, for a logged speed) in unchanged and appends the take.
/// Validates everything first; on failure the case is as it was, no partial copy stays, and a
/// recording that was to be moved is where it was.
/// `take.id`, `recording`, hashes and format fields are filled in, and `added` if it is empty.
///
/// A recording that the case has already, of the same point, channels, speed and load, is refused
/// with Fault::command; one of which something else is said is added, with a warning. So is one
/// that is moved in, as it was just recorded and would be lost.
///
/// Refused with Fault::file: what Recording refuses, less than 0.5 s, a used channel that never
/// changes, a log or tacho channel that gives no speed. With Fault::command: an unknown point, a
/// channel that is not there or used twice, a speed that no engine has.
AddedTake add_take(const std::filesystem::path& folder, const NewTake& request);

}  // namespace howl
