#pragma once

#include <span>
#include <string>

#include "src/case/case.h"
#include "src/reasoning/workshop_facts.h"

namespace howl {

/// What was entered, with what it means, then what else can be entered: how it is typed, how to
/// look and what can hurt. `facts` are those known; `offered` those of them that matter for the
/// vehicle.
std::string evidence_list(std::span<const WorkshopEvidence> entered,
                          std::span<const WorkshopFact> facts,
                          std::span<const WorkshopFact> offered);

/// The same as JSON, schema "howlpoint.evidence/1":
/// { "schema", "entered": [ { "key", "value", "known", "says", "note", "added" } ],
///   "facts": [ { "key", "question", "how", "minutes", "cautions": [], "values": [], "entered" } ]
///   }
/// What is not there is null. Fields may be added, never renamed.
std::string evidence_json(std::span<const WorkshopEvidence> entered,
                          std::span<const WorkshopFact> facts,
                          std::span<const WorkshopFact> offered);

}  // namespace howl
