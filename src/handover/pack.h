#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>

#include "src/analysis/analyse.h"

namespace howl::handover {

inline constexpr const char* packed_manifest_name = "manifest.json";

/// Packs a whole case into one ZIP file: case.json, profile.toml, recordings and logs of the takes,
/// and a manifest of them (manifest.h). Nothing else of the folder goes along. The same case gives
/// the same bytes. The file is read back and compared before it takes its place. Throws Error: the
/// case is not whole (file fault), the file cannot be written (machine fault); what `progress`
/// throws ends it too.
void pack_case(const std::filesystem::path& folder, const std::filesystem::path& file,
               const Progress& progress);

/// What a packed file may hold at most.
struct UnpackLimits {
  std::size_t files{20'000};
  std::uint64_t file_bytes{std::uint64_t{16} << 30U};
  std::uint64_t all_bytes{std::uint64_t{64} << 30U};
};

/// Makes `folder`, which must not be there, from a packed case. Nothing is ever written outside of
/// it: names are those that a case has and no others, links and folders in the file are refused,
/// sizes are bounded and counted while reading, and every file must have the SHA-256 that the
/// manifest and case.json say. What fails leaves nothing behind. Throws Error: not a packed case,
/// damaged, too large (file fault); `folder` is there (command fault); no space (machine fault).
void unpack_case(const std::filesystem::path& file, const std::filesystem::path& folder,
                 const UnpackLimits& limits, const Progress& progress);

}  // namespace howl::handover
