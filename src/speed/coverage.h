#pragma once

#include <optional>
#include <string>

#include "dsp/units.h"

namespace howl {

/// Checks that a speed known from `first` to `last` covers a recording: at least 80 %, else Error
/// in the name of `where`. Returns a warning if more than 0.5 s at either end are not covered,
/// where the speed is held.
std::optional<std::string> require_coverage(Seconds first, Seconds last, Seconds length,
                                            const std::string& where, const std::string& remedy);

}  // namespace howl
