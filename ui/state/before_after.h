#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "src/analysis/comparison.h"
#include "src/case/case.h"
#include "ui/jobs/jobs.h"
#include "ui/pictures/take_sound.h"

namespace howl::desk {

struct DeskState;

/// A case of before a repair, with its analysis.
struct EarlierCase {
  std::filesystem::path folder;
  Case value;
  AnalysisRequest request;  ///< that it was analysed with
  Analysis analysis;
};

/// One take of each side of a compared place, to be looked at.
struct PairSpectra {
  std::size_t place{};  ///< in Comparison::places
  TakeSpectrum before;
  TakeSpectrum after;
};

/// The case on the desk against one of before a repair.
struct BeforeAfter {
  std::filesystem::path folder;  ///< of the case before; empty: none is chosen
  std::shared_ptr<const EarlierCase> earlier;
  std::shared_ptr<const Comparison> comparison;  ///< null: none yet
  std::shared_ptr<const PairSpectra> spectra;    ///< of the picked place; null while it is read
  std::optional<JobId> job;                      ///< that compares now
  std::string fault;                             ///< why there is no comparison
  std::string remedy;
  std::size_t place{};              ///< that is looked at
  std::optional<std::size_t> tone;  ///< that is picked, in Comparison::tones
  std::uint64_t turn{};             ///< what a job of an older one brings is thrown away
};

/// Whether somebody is likely to want a comparison now: the case is one of after a repair, or
/// nothing howls in it, and none is chosen to compare it with.
bool offers_comparison(const DeskState& state);

/// "none", "working", "failed", or what became of the howl: "gone" …
std::string comparison_words(const DeskState& state);

}  // namespace howl::desk
