#pragma once

#include <cstdint>
#include <cstdlib>
#include <string_view>

namespace howl {

/// How many of a trial's scenes are tried: a small part in daily use; all of them with
/// HOWLPOINT_TRIALS=full, as the target `trials` runs them.
inline std::uint64_t trial_size(std::uint64_t full, std::uint64_t parts = 4) {
  const char* const wanted = std::getenv("HOWLPOINT_TRIALS");
  const bool all = wanted != nullptr && std::string_view(wanted) == "full";
  return all ? full : full / parts;
}

}  // namespace howl
