#include "src/files/new_folder.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

#include <cerrno>
#include <string>
#include <system_error>
#include <utility>

#include "src/errors.h"

namespace howl {
namespace {

namespace fs = std::filesystem;

Error place_is_taken(const fs::path& place) {
  return {Fault::command, place.string(), "is there already",
          "name another folder, or remove this one"};
}

Error cannot_make(const fs::path& place, int error_number) {
  return {Fault::machine, place.string(),
          "cannot be made (" + std::generic_category().message(error_number) + ")",
          "check the folder and the space on the disk"};
}

fs::path without_trailing_slash(fs::path place) {
  return place.has_filename() ? place : place.parent_path();
}

}  // namespace

NewFolder::NewFolder(fs::path place) : place_(without_trailing_slash(std::move(place))) {
  std::error_code ignored;
  if (fs::symlink_status(place_, ignored).type() != fs::file_type::not_found)
    throw place_is_taken(place_);
  const fs::path parent = place_.has_parent_path() ? place_.parent_path() : fs::path(".");
  std::string name = (parent / fs::path(".").concat(place_.filename().native())).string();
  name += ".making-XXXXXX";
  if (::mkdtemp(name.data()) == nullptr) throw cannot_make(place_, errno);
  making_ = name;
}

NewFolder::~NewFolder() {
  std::error_code ignored;
  if (!kept_) fs::remove_all(making_, ignored);
}

void NewFolder::keep() {
  constexpr mode_t usual_mode = 0777;
  const mode_t mask = ::umask(0);
  ::umask(mask);
  ::chmod(making_.c_str(), usual_mode & ~mask);  // mkdtemp() lets nobody else in
  if (::renameat2(AT_FDCWD, making_.c_str(), AT_FDCWD, place_.c_str(), RENAME_NOREPLACE) != 0)
    throw errno == EEXIST ? place_is_taken(place_) : cannot_make(place_, errno);
  kept_ = true;
}

}  // namespace howl
