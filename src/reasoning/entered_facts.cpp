#include "src/reasoning/entered_facts.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace howl {

namespace {

using Causes = std::set<std::string>;

Causes causes_of(std::span<const Source> sources) {
  Causes causes;
  for (const Source& source : sources)
    for (const Cause& cause : source.causes) causes.insert(cause.id);
  return causes;
}

bool bears_on(const WorkshopFact& fact, const Causes& causes) {
  return std::ranges::any_of(fact.if_cause,
                             [&](const auto& entry) { return causes.contains(entry.first); });
}

bool matters(const WorkshopFact& fact, std::span<const WorkshopFact> facts, const Causes& causes) {
  if (bears_on(fact, causes)) return true;
  const WorkshopFact* other = fact.trust ? find_fact(facts, fact.trust->in) : nullptr;
  return other != nullptr && bears_on(*other, causes);
}

}  // namespace

CheckedEvidence entered_facts(std::span<const WorkshopFact> facts,
                              std::span<const WorkshopEvidence> evidence) {
  CheckedEvidence entered;
  for (const WorkshopEvidence& entry : evidence) {
    const WorkshopFact* fact = find_fact(facts, entry.key);
    if (fact == nullptr)
      entered.warnings.push_back(
          fmt::format("evidence '{}' is no workshop fact that is known here; it is kept, and "
                      "counts for nothing",
                      entry.key));
    else if (std::ranges::find(fact->values, entry.value) == fact->values.end())
      entered.warnings.push_back(
          fmt::format("evidence '{}' has the value '{}', which is not known here; it is kept, and "
                      "counts for nothing",
                      entry.key, entry.value));
    else
      entered.values[entry.key] = entry.value;
  }
  return entered;
}

std::vector<WorkshopFact> facts_for(std::span<const Source> sources,
                                    std::span<const WorkshopFact> facts) {
  const Causes causes = causes_of(sources);
  if (causes.empty()) return {facts.begin(), facts.end()};
  std::vector<WorkshopFact> chosen;
  for (const WorkshopFact& fact : facts)
    if (matters(fact, facts, causes)) chosen.push_back(fact);
  return chosen;
}

}  // namespace howl
