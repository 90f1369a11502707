#pragma once

#include <filesystem>
#include <string>

#include "src/case/case.h"

namespace howl {

/// Makes sure that every channel that the take uses changes at all. Reads the recording through.
/// Throws Error (file fault) that names `file`.
void require_sound_in_channels(const std::filesystem::path& recording, const Take& take,
                               const std::string& file);

}  // namespace howl
