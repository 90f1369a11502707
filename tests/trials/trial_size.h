#pragma once

#include <cstdint>
#include <cstdlib>
#include <string_view>

namespace howl {

/// How many of a trial's scenes are tried: a small part in daily use; all of them with
/// HOWLPOINT_TRIALS=full, as the target `trials` runs them.
inline std::uint64_t trial_size(std::uint64_t full, std::uint64_t parts = 8) {
  const char* const wanted = std::getenv("HOWLPOINT_TRIALS");
  const bool all = wanted != nullptr && std::string_view(wanted) == "full";
  return all ? full : full / parts;
}

/// The first scene's seed: 0, or HOWLPOINT_TRIAL_SEED, to try a model on other scenes than those
/// that judge it.
inline std::uint64_t first_seed() {
  const char* const wanted = std::getenv("HOWLPOINT_TRIAL_SEED");
  return wanted == nullptr ? 0 : std::strtoull(wanted, nullptr, 10);
}

/// Whether each scene is to be told (HOWLPOINT_TRIAL_TALK).
inline bool trial_talks() { return std::getenv("HOWLPOINT_TRIAL_TALK") != nullptr; }

}  // namespace howl
