#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"
#include "src/profile/source.h"

namespace howl {

/// A shape on the sketch of the vehicle: body, engine, transmission, wheel …
struct Outline {
  struct Corner {
    double x{};  ///< as in SketchPlace
    double y{};
  };
  std::string label;
  SketchPlace::View view{};
  std::vector<Corner> corners;  ///< of a closed polygon, at least three
};

/// The layout of a vehicle, as a profile file describes it: where to touch, what is known of the
/// engine, and what can make noise. profiles/blank-four-stroke.toml explains every key.
struct Profile {
  std::string name;
  std::string title;
  std::string description;
  std::optional<int> cylinders;
  int strokes{4};
  std::vector<ProbePoint> points;
  std::vector<Source> sources;  ///< in the order of the file; names differ
  std::vector<Outline> outlines;
  /// Keys of load tests that this vehicle does not allow: no clutch pedal, a belt that must stay
  /// on.
  std::vector<std::string> impossible_tests;
  std::string toml;  ///< the file, as it was read
};

/// Whether the vehicle allows the load test of that key.
bool is_test_possible(const Profile& profile, std::string_view load_test);

/// The profiles built into the program, by name.
std::vector<Profile> list_profiles();

/// A built-in profile by its name, or one from a file if the text ends in ".toml" or holds a "/".
/// Throws Error: an unknown name (the known ones are listed), or a fault in the file.
Profile load_profile(const std::string& name_or_path);

/// Throws Error that names the line and the key. `where` names the file.
Profile parse_profile(std::string_view toml, const std::string& where);

}  // namespace howl
