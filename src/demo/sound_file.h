#pragma once

#include <filesystem>
#include <span>

#include "src/demo/recipe.h"

namespace howl {

/// Writes mono (`second` empty) or two equally long channels, samples within ±1. Throws Error
/// (machine fault) where the file cannot be written; `sample_rate` is rounded to whole Hz.
void write_sound(const std::filesystem::path& file, SoundFormat format, double sample_rate,
                 std::span<const float> first, std::span<const float> second = {});

/// The ending that goes with a format, with its dot.
const char* ending_of(SoundFormat format);

}  // namespace howl
