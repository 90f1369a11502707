#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace howl {

/// One problem in a case on disk.
struct CaseFinding {
  std::string where;
  std::string problem;
  std::string remedy;
};

/// Reads everything again: case.json, profile.toml, every recording and log against its SHA-256 and
/// its noted format, channels, points, speeds, and files that belong to no take. Empty when the
/// case is whole; never throws for a fault of the case.
std::vector<CaseFinding> check_case(const std::filesystem::path& folder);

}  // namespace howl
