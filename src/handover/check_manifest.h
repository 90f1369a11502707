#pragma once

#include <filesystem>
#include <vector>

#include "src/case/case.h"
#include "src/handover/manifest.h"
#include "src/keeping/check_case.h"

namespace howl::handover {

/// The manifest of a report, PDF or HTML. Throws Error: cannot be read, is no report of this
/// program, manifest damaged.
Manifest manifest_of_report(const std::filesystem::path& report);

/// What differs between a case on disk and what a report says of it, file by file: changed,
/// swapped, missing, or recordings and logs that were not there. `report` names the report in the
/// findings. Empty where all is as it was. Of several cases in the manifest, that which most of the
/// files fit is compared.
std::vector<CaseFinding> check_manifest(const std::filesystem::path& folder,
                                        const Manifest& manifest, const std::string& report);

/// Reports of this program about this case, in its folder and beside it: files that end in .pdf or
/// .html and whose manifest shares a file with the case. Sorted by name.
std::vector<std::filesystem::path> reports_near(const std::filesystem::path& folder);

}  // namespace howl::handover
