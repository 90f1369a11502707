#include "src/profile/case_profile.h"

#include <algorithm>
#include <vector>

#include "src/case/case_folder.h"
#include "src/errors.h"
#include "src/files/descriptor.h"

namespace howl {

namespace fs = std::filesystem;

namespace {

Profile profile_without_sources(const Case& value) {
  Profile profile;
  profile.name = value.profile;
  profile.title = value.profile;
  profile.cylinders = value.cylinders;
  profile.points = value.points;
  return profile;
}

}  // namespace

std::optional<Profile> built_in_profile(const std::string& name) {
  std::vector<Profile> profiles = list_profiles();
  const auto found = std::ranges::find(profiles, name, &Profile::name);
  if (found == profiles.end()) return std::nullopt;
  return std::move(*found);
}

Profile case_profile(const fs::path& folder, const Case& value) {
  const fs::path file = folder / profile_file_name;
  if (is_there(file)) return load_profile(file.string());
  if (value.profile_sha256)
    throw Error(Fault::file, file.string(), "is missing", "restore it from a copy of the case");
  if (auto profile = built_in_profile(value.profile)) return *std::move(profile);
  return profile_without_sources(value);
}

}  // namespace howl
