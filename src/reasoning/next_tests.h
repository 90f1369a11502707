#pragma once

#include <span>
#include <string>
#include <vector>

#include "src/analysis/verdict.h"
#include "src/profile/profile.h"
#include "src/reasoning/fact_evidence.h"
#include "src/reasoning/howl.h"
#include "src/reasoning/hypotheses.h"

namespace howl {

/// What is known of a case besides its sound.
struct CaseKnowledge {
  const Profile& profile;
  std::span<const WorkshopFact> facts;
  EnteredFacts entered;
  std::vector<std::string> points;  ///< all probe points of the case, recorded or not
  bool driven{};                    ///< the points are compared while the vehicle moves
};

/// Every test that was not done yet and promises at least kLeastInformation, most information a
/// minute first: load tests, a sweep, the order measured with a tacho, other probe points, facts to
/// look up. Information is that about which hypothesis (source and cause) is true; each test is
/// taken by itself (myopic; de Kleer and Williams 1987). `howl` is null where none was heard yet.
inline constexpr double kLeastInformation = 0.02;  ///< bits
std::vector<NextTest> next_tests(const CaseKnowledge& known, const Howl* howl,
                                 const std::vector<Hypothesis>& hypotheses, const Belief& belief);

}  // namespace howl
