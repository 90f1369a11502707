#pragma once

#include <string_view>

#include "src/analysis/analyse.h"
#include "src/cli/progress_line.h"

namespace howl {

/// What every command gets from the program around it.
struct Session {
  bool quiet{};
  ProgressLine progress_line;

  /// Valid as long as the session.
  Progress progress();
};

}  // namespace howl
