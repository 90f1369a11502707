#pragma once

#include <filesystem>
#include <string>

#include "src/case/case.h"

namespace howl {

inline constexpr std::string_view case_file_name = "case.json";
inline constexpr std::string_view profile_file_name = "profile.toml";
inline constexpr std::string_view recordings_folder = "recordings";
inline constexpr std::string_view logs_folder = "logs";

/// Writes case.json; the caller holds the folder's lock. Refuses what load_case would not read.
void write_case(const std::filesystem::path& folder, const Case& value);

/// The present date and time, UTC, ISO 8601.
std::string now_as_text();

}  // namespace howl
