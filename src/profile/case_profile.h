#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "src/case/case.h"
#include "src/profile/profile.h"

namespace howl {

/// The profile that a case began with: its profile.toml if there is one, else the built-in one of
/// that name, else one that knows no more than the case does: points and cylinders, no sources.
/// Throws Error if profile.toml is at fault, or was kept with the case and is missing.
Profile case_profile(const std::filesystem::path& folder, const Case& value);

std::optional<Profile> built_in_profile(const std::string& name);

}  // namespace howl
