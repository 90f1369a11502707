#include "src/reasoning/diagnose.h"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "src/profile/case_profile.h"
#include "src/reasoning/reason.h"
#include "src/reasoning/workshop_facts.h"

namespace howl {

namespace {

EnteredFacts entered_in(const Case& value) {
  EnteredFacts entered;
  for (const WorkshopEvidence& evidence : value.evidence) entered[evidence.key] = evidence.value;
  return entered;
}

/// Entries that the facts do not know count for nothing, and that is said.
std::vector<std::string> unknown_entries(const EnteredFacts& entered,
                                         const std::vector<WorkshopFact>& facts) {
  std::vector<std::string> warnings;
  for (const auto& [key, entry] : entered) {
    const WorkshopFact* fact = find_fact(facts, key);
    if (fact == nullptr)
      warnings.push_back(
          fmt::format("the workshop evidence '{}' is not among the facts that are known, and "
                      "counts for nothing",
                      key));
    else if (std::ranges::find(fact->values, entry) == fact->values.end())
      warnings.push_back(
          fmt::format("'{}' is not a value of '{}', and counts for nothing", entry, key));
  }
  return warnings;
}

}  // namespace

Analysis diagnose(const std::filesystem::path& folder, const Case& value,
                  const AnalysisRequest& request, const Progress& progress) {
  const Profile profile = case_profile(folder, value);
  const std::vector<WorkshopFact> facts = load_workshop_facts();
  Analysis analysis = analyse(folder, value, request, progress);
  CaseKnowledge known{profile, facts, entered_in(value), {}};
  for (const ProbePoint& point : value.points) known.points.push_back(point.name);
  analysis.verdict = reason(analysis, known);
  for (std::string& warning : unknown_entries(known.entered, facts))
    analysis.warnings.push_back(std::move(warning));
  return analysis;
}

}  // namespace howl
