#pragma once

#include <span>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/profile/source.h"
#include "src/reasoning/fact_evidence.h"
#include "src/reasoning/workshop_facts.h"

namespace howl {

/// What was entered in a case, against the facts that are known. A fact or value that is not known,
/// because the shop's file has changed since, counts for nothing and is warned of.
struct CheckedEvidence {
  EnteredFacts values;                ///< known ones only
  std::vector<std::string> warnings;  ///< one sentence each, without a full stop
};
CheckedEvidence entered_facts(std::span<const WorkshopFact> facts,
                              std::span<const WorkshopEvidence> evidence);

/// The facts that bear on a cause of these sources, and those that tell how such a fact was found
/// out, in their order. All of them where the sources name no causes.
std::vector<WorkshopFact> facts_for(std::span<const Source> sources,
                                    std::span<const WorkshopFact> facts);

}  // namespace howl
