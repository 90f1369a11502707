#pragma once

#include "src/entry/typed_band.h"

namespace CLI {
class App;
}

namespace howl {

/// --band and --orders, shared by the commands that analyse.
struct BandOptions {
  TypedBand typed;

  void describe(CLI::App& command);
  /// Throws Error (command fault).
  AnalysisRequest request() const { return band_request(typed); }
};

}  // namespace howl
