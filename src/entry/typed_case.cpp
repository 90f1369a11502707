#include "src/entry/typed_case.h"

#include "src/errors.h"
#include "src/profile/profile.h"

namespace howl {
namespace {

std::string folder_name(const std::filesystem::path& folder) {
  const auto whole = std::filesystem::absolute(folder).lexically_normal();
  return (whole.has_filename() ? whole : whole.parent_path()).filename().string();
}

}  // namespace

Case begin_case(const TypedCase& typed) {
  const Profile profile = load_profile(typed.profile);
  Case value;
  value.title = typed.title.empty() ? folder_name(typed.folder) : typed.title;
  value.profile = profile.name;
  value.cylinders = profile.cylinders;
  value.points = profile.points;
  create_case(typed.folder, value, profile.toml);
  return value;
}

void require_title(const std::string& title) {
  if (title.empty())
    throw Error(Fault::command, "--title", "is empty", "say the complaint in a few words");
}

}  // namespace howl
