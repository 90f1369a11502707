#pragma once

#include <filesystem>
#include <string_view>

#include "src/report/pictures.h"

namespace howl::picture {

/// By the ending of the name, in capitals or not. Throws Error (command fault) for any other.
PictureFormat format_of(const std::filesystem::path& file);

/// Writes beside `file` first and then takes its place, so that `file` is whole or untouched.
/// Throws Error (machine fault), and leaves nothing behind, where that fails.
void write_whole(const std::filesystem::path& file, std::string_view bytes);

}  // namespace howl::picture
