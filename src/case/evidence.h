#pragma once

#include <string_view>

#include "src/case/case.h"

namespace howl {

/// Null where nothing was entered under that key.
const WorkshopEvidence* find_evidence(const Case& value, std::string_view key);

/// In the place of what was entered under its key, else at the end.
void enter_evidence(Case& value, WorkshopEvidence evidence);

/// False where nothing was entered under that key.
bool forget_evidence(Case& value, std::string_view key);

}  // namespace howl
