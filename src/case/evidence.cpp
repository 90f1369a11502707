#include "src/case/evidence.h"

#include <algorithm>
#include <string>
#include <utility>

namespace howl {

const WorkshopEvidence* find_evidence(const Case& value, std::string_view key) {
  const auto found = std::ranges::find(value.evidence, key, &WorkshopEvidence::key);
  return found != value.evidence.end() ? &*found : nullptr;
}

void enter_evidence(Case& value, WorkshopEvidence evidence) {
  const auto same = std::ranges::find(value.evidence, evidence.key, &WorkshopEvidence::key);
  if (same != value.evidence.end())
    *same = std::move(evidence);
  else
    value.evidence.push_back(std::move(evidence));
}

bool forget_evidence(Case& value, std::string_view key) {
  return std::erase_if(value.evidence, [&](const auto& entry) { return entry.key == key; }) > 0;
}

}  // namespace howl
