#pragma once

#include <filesystem>
#include <optional>
#include <string>

namespace howl {

/// What truth.json beside a demo case says of its fault, to be held against an answer. The analysis
/// never reads it.
struct DemoTruth {
  std::string recipe;     ///< "steering-pump-low-fluid"
  std::string component;  ///< "steering pump"
  std::string fault;      ///< "low fluid, the pump draws air"
  std::string suspect;    ///< what the profile calls the source at fault; empty: not told
  std::string behaviour;  ///< how its pitch behaves: "speed-locked" …
  std::string loudest_point;
  bool repaired{};  ///< the fault was mended before the takes were made
};

/// None where the case has no truth.json, as every case of a real vehicle. Throws Error (file
/// fault) where there is one that cannot be understood.
std::optional<DemoTruth> read_demo_truth(const std::filesystem::path& case_folder);

}  // namespace howl
