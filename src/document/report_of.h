#pragma once

#include <filesystem>
#include <vector>

#include "src/analysis/analyse.h"
#include "src/analysis/take_pairs.h"
#include "src/case/case.h"
#include "src/document/document.h"

namespace howl::document {

struct ReportRequest {
  AnalysisRequest analysis;
  std::vector<std::filesystem::path> after;   ///< cases of later, to be compared with this one
  std::vector<std::filesystem::path> before;  ///< of before a repair, which this one came after
  PointMap renamed;                           ///< their names of probe points, before -> after
  bool with_clips{true};
};

/// Analyses the case, and says all that is found as a report. Throws Error where a case or a
/// recording cannot be used, and what `progress` throws.
Document report_of(const std::filesystem::path& folder, const ReportRequest& request,
                   const Progress& progress);

/// The same from a case with its analysis (src/reasoning/diagnose.h), as a window has them.
Document report_of(const std::filesystem::path& folder, const Case& value, const Analysis& analysis,
                   const ReportRequest& request, const Progress& progress);

}  // namespace howl::document
