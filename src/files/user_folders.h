#pragma once

#include <filesystem>
#include <optional>

namespace howl {

/// A user's own folders, by the environment. What is not absolute counts as not set, as the XDG
/// Base Directory Specification 0.8 has it; whether a folder is there is not asked.

/// $HOME.
std::optional<std::filesystem::path> home_folder();
/// What somebody has set: $XDG_CONFIG_HOME, else ~/.config.
std::optional<std::filesystem::path> configuration_folder();
/// What can be made again: $XDG_CACHE_HOME, else ~/.cache.
std::optional<std::filesystem::path> cache_folder();

}  // namespace howl
