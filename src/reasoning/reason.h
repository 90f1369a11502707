#pragma once

#include "src/analysis/analysis.h"
#include "src/reasoning/next_tests.h"

namespace howl {

/// From what the analysis found and what else is known of the case to suspects, next tests and
/// repairs. Deterministic; the same input gives the same verdict.
///
/// Bayes over hypotheses (a source with one of its causes, or something not in the profile).
/// Evidence is taken in a fixed order, and each item's weight is what it adds to the log-odds of a
/// suspect after those before it, so that weights and the chance beforehand sum to the odds that
/// are reported. Repairs in falling chance per cost (Heckerman, Breese and Rommelse 1995).
Verdict reason(const Analysis& analysis, const CaseKnowledge& known);

/// A part of the vehicle, with the chances of all its sources together.
struct PartChance {
  std::string component;
  double probability{};
};
/// Likeliest first: several sources of one part can be likelier together than the first suspect.
std::vector<PartChance> parts_by_chance(const Verdict& verdict);

}  // namespace howl
