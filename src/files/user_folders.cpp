#include "src/files/user_folders.h"

#include <cstdlib>

namespace howl {

namespace fs = std::filesystem;

namespace {

std::optional<fs::path> folder_in_environment(const char* variable) {
  const char* const value = std::getenv(variable);
  if (value == nullptr || !fs::path(value).is_absolute()) return std::nullopt;
  return fs::path(value);
}

std::optional<fs::path> own_folder(const char* variable, const char* below_home) {
  if (auto set = folder_in_environment(variable)) return set;
  if (const auto home = home_folder()) return *home / below_home;
  return std::nullopt;
}

}  // namespace

std::optional<fs::path> home_folder() { return folder_in_environment("HOME"); }

std::optional<fs::path> configuration_folder() { return own_folder("XDG_CONFIG_HOME", ".config"); }

std::optional<fs::path> cache_folder() { return own_folder("XDG_CACHE_HOME", ".cache"); }

}  // namespace howl
