#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"
#include "src/profile/source.h"

namespace howl {

/// The layout of a vehicle, as a profile file describes it: where to touch, and what is known of
/// the engine. profiles/blank-four-stroke.toml explains every key.
struct Profile {
  std::string name;
  std::string title;
  std::string description;
  std::optional<int> cylinders;
  int strokes{4};
  std::vector<ProbePoint> points;
  std::vector<Source> sources;
};

/// The profiles built into the program, by name.
std::vector<Profile> list_profiles();

/// A built-in profile by its name, or one from a file if the text ends in ".toml" or holds a "/".
/// Throws Error: an unknown name (the known ones are listed), or a fault in the file.
Profile load_profile(const std::string& name_or_path);

/// Throws Error that names the line and the key. `where` names the file.
Profile parse_profile(std::string_view toml, const std::string& where);

}  // namespace howl
