#pragma once

#include <optional>
#include <string>

#include "src/analysis/analysis.h"

namespace howl {

/// The suspect band as somebody typed it: "LOW:HIGH" in Hz (as --band) or in orders (as --orders).
struct TypedBand {
  std::optional<std::string> hertz;
  std::optional<std::string> orders;
};

/// What to analyse; without either the program proposes a band. Throws Error (command fault) where
/// both are given, or one is no band.
AnalysisRequest band_request(const TypedBand& typed);

}  // namespace howl
