#pragma once

#include <filesystem>

#include "src/analysis/analyse.h"
#include "src/profile/profile.h"

namespace howl {

/// analyse(), and what its findings come to with the case's profile and workshop facts: the whole
/// answer, which window, command line and report share.
Analysis diagnose(const std::filesystem::path& folder, const Case& value,
                  const AnalysisRequest& request, const Progress& progress);
/// With the case's profile, where it was read already.
Analysis diagnose(const std::filesystem::path& folder, const Case& value, const Profile& profile,
                  const AnalysisRequest& request, const Progress& progress);

}  // namespace howl
