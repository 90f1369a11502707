#pragma once

#include <optional>
#include <string>

#include "src/analysis/analysis.h"

namespace CLI {
class App;
}

namespace howl {

/// --band and --orders, shared by the commands that analyse.
struct BandOptions {
  std::optional<std::string> hertz;
  std::optional<std::string> orders;

  void describe(CLI::App& command);
  /// Throws Error (command fault).
  AnalysisRequest request() const;
};

}  // namespace howl
