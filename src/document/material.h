#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/comparison.h"
#include "src/case/case.h"
#include "src/document/document.h"
#include "src/profile/profile.h"
#include "src/reasoning/workshop_facts.h"

namespace howl::document {

/// A case recorded later, or before a repair, and what became of the tones.
struct ComparedCase {
  Case value;
  Comparison comparison;
};

/// Everything that a report is made from. Nothing after it computes a finding.
struct Material {
  const std::filesystem::path& folder;
  const Case& value;
  const Profile& profile;
  std::span<const WorkshopFact> facts;  ///< all that are known
  std::string facts_sha256;             ///< of the file that they were read from
  bool shops_own_facts{};               ///< the shop's file, not the built-in one
  const Analysis& analysis;
  std::vector<ComparedCase> later;
  std::vector<ComparedCase> earlier;
  AnalysisRequest request;
};

}  // namespace howl::document
