#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "src/profile/profile.h"
#include "src/reasoning/hypotheses.h"
#include "src/reasoning/workshop_facts.h"

namespace howl {

/// Facts of the workshop as entered: key -> value.
using EnteredFacts = std::map<std::string, std::string>;

/// One entered fact under every hypothesis.
struct FactEvidence {
  std::string key;
  std::string text;  ///< what was found
  /// Natural logarithm of how much likelier the value is under each hypothesis than usual.
  std::vector<double> log_ratios;
};

/// Facts of one group weigh together as much as one and kDependentShare of the others, because they
/// partly say the same (a design effect; Kish 1965, Survey Sampling, from memory); one that was
/// found out in a doubtful way counts less (trust_in). Entries that no fact knows are passed over.
std::vector<FactEvidence> fact_evidence(const EnteredFacts& entered,
                                        std::span<const WorkshopFact> facts, const Profile& profile,
                                        const std::vector<Hypothesis>& hypotheses);

}  // namespace howl
