#pragma once

#include <filesystem>
#include <vector>

#include "src/analysis/analyse.h"
#include "src/case/case.h"

namespace howl::handover {

/// Writes everything of an analysis to a folder that must not be there yet: each table as CSV,
/// all of them as tables.json, the analysis as analysis.json (src/report/analysis_json.h), and in
/// pictures/ every picture that the case has as PDF and SVG, as PNG for print (300 dpi at 27 cm
/// width), and as CSV with all its values. Whole or not at all. Returns the names of the files,
/// sorted. Throws Error, and what `progress` throws.
std::vector<std::string> export_case(const std::filesystem::path& folder, const Case& value,
                                     const Analysis& analysis, const AnalysisRequest& request,
                                     const std::filesystem::path& out, const Progress& progress);

}  // namespace howl::handover
