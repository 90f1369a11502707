#pragma once

#include <span>
#include <string>

#include "src/case/case.h"
#include "src/reasoning/workshop_facts.h"

namespace howl {

/// 'Fine film' is typed for 'fine-film'.
std::string plain_word(std::string word);

/// "fluid-level=low" as what was found, now. Throws Error (command fault): no such fact or value.
WorkshopEvidence evidence_of(const std::string& typed, const std::string& note,
                             std::span<const WorkshopFact> facts);

}  // namespace howl
