#pragma once

#include <filesystem>

#include "ui/platform/window.h"

namespace howl::desk {

/// Writes a PNG; the same pixels give the same bytes. Throws Error (machine fault).
void save_picture(const WindowPixels& pixels, const std::filesystem::path& file);

}  // namespace howl::desk
