#pragma once

#include <span>
#include <string>
#include <vector>

#include "src/analysis/verdict.h"
#include "src/reasoning/fact_evidence.h"
#include "src/reasoning/workshop_facts.h"

namespace howl {

/// A value of a fact as a person says it: "fine film" for "fine-film".
std::string fact_value_words(std::string value);
/// What was found: "Level of the fluid: low. ", with which its remark begins.
std::string found_words(const WorkshopFact& fact, const std::string& value);

/// One remark for every fact that was entered and is known, in the order of `facts`: what a
/// technician should know of it, or else what it does between the suspects, so that nothing that
/// was taken in goes unsaid.
std::vector<std::string> fact_remarks(const EnteredFacts& entered,
                                      std::span<const WorkshopFact> facts,
                                      std::span<const Suspect> suspects);

/// What entered facts mean by themselves, whatever howls: one sentence each, in the words of their
/// file, for the head of an answer.
std::vector<std::string> facts_by_themselves(const EnteredFacts& entered,
                                             std::span<const WorkshopFact> facts);

}  // namespace howl
