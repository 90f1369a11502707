#pragma once

#include <filesystem>

namespace howl {

/// Opens a file or folder in the program that the desktop has for it (xdg-open), which then runs on
/// its own. Throws Error (machine fault) where the desktop has no such command.
void show_file(const std::filesystem::path& file);

}  // namespace howl
