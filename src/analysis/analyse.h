#pragma once

#include <filesystem>
#include <functional>
#include <string_view>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"
#include "src/case/case.h"

namespace howl {

/// Called now and then during long work; `fraction` 0 … 1. May throw to cancel.
using Progress = std::function<void(double fraction, std::string_view stage)>;

/// The one analysis that command line, pictures and report present. Throws Error where a recording
/// or log of the case cannot be used.
Analysis analyse(const std::filesystem::path& folder, const Case& value,
                 const AnalysisRequest& request, const Progress& progress);

/// The same from takes already opened; `cylinders` of a four-stroke engine where known.
Analysis analyse_takes(std::vector<TakeAudio> all, std::optional<int> cylinders,
                       const AnalysisRequest& request, const Progress& progress);

/// Opens a case's take for analysis: resolves its speed and binds its recording.
/// `warnings` receives what had to be repaired in the speed record. A logged speed is lined up with
/// the sound where that is clear.
TakeAudio open_take(const std::filesystem::path& folder, const Take& take,
                    std::optional<int> cylinders, std::vector<std::string>& warnings);

}  // namespace howl
