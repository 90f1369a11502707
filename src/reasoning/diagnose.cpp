#include "src/reasoning/diagnose.h"

#include <algorithm>
#include <iterator>
#include <optional>
#include <utility>
#include <vector>

#include "src/profile/case_profile.h"
#include "src/profile/load_tests.h"
#include "src/reasoning/entered_facts.h"
#include "src/reasoning/reason.h"
#include "src/reasoning/workshop_facts.h"

namespace howl {

namespace {

bool is_driven_take(const TakeResult& take) {
  return is_driven(take.load, take.road_kmh ? std::optional(take.road_kmh->high) : std::nullopt);
}

bool compared_on_the_road(const Analysis& analysis) {
  return std::ranges::any_of(analysis.ranking, [&](const RankedPoint& point) {
    return std::ranges::any_of(analysis.takes, [&](const TakeResult& take) {
      return is_driven_take(take) && std::ranges::find(point.takes, take.id) != point.takes.end();
    });
  });
}

}  // namespace

Analysis diagnose(const std::filesystem::path& folder, const Case& value, const Profile& profile,
                  const AnalysisRequest& request, const Progress& progress) {
  const std::vector<WorkshopFact> facts = load_workshop_facts();
  Analysis analysis = analyse(folder, value, request, progress);
  CheckedEvidence evidence = entered_facts(facts, value.evidence);
  CaseKnowledge known{
      profile, facts, std::move(evidence.values), {}, compared_on_the_road(analysis)};
  for (const ProbePoint& point : value.points) known.points.push_back(point.name);
  analysis.verdict = reason(analysis, known);
  std::ranges::move(evidence.warnings, std::back_inserter(analysis.warnings));
  return analysis;
}

Analysis diagnose(const std::filesystem::path& folder, const Case& value,
                  const AnalysisRequest& request, const Progress& progress) {
  return diagnose(folder, value, case_profile(folder, value), request, progress);
}

}  // namespace howl
