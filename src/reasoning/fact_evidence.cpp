#include "src/reasoning/fact_evidence.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>

namespace howl {

namespace {

/// Nothing that people report is impossible: they misread and mistype, common practice.
constexpr double kLeastChance = 0.005;

std::vector<double> log_ratios(const WorkshopFact& fact, const std::string& value,
                               const Profile& profile, const std::vector<Hypothesis>& hypotheses) {
  const double usual = chance_of(fact, "", value);
  std::vector<double> ratios;
  for (const Hypothesis& h : hypotheses)
    ratios.push_back(std::log(std::max(kLeastChance, chance_of(fact, cause_of(profile, h), value)) /
                              std::max(kLeastChance, usual)));
  return ratios;
}

double strength(const FactEvidence& evidence) {
  double most = 0.0;
  for (const double ratio : evidence.log_ratios) most = std::max(most, std::abs(ratio));
  return most;
}

/// What all facts of a group weigh, as a factor: together as much as one of them and the dependent
/// share of the others. None is preferred: a fact more must not take its weight from one before.
/// Facts that say little do not count as others (as many as their strengths add up to).
double group_weight(const std::vector<double>& strengths) {
  const double most = *std::ranges::max_element(strengths);
  if (!(most > 0.0)) return 1.0;
  const double count = std::accumulate(strengths.begin(), strengths.end(), 0.0) / most;
  return (1.0 + kDependentShare * (count - 1.0)) / count;
}

void weaken_dependent(std::vector<FactEvidence>& evidence, const std::vector<std::string>& groups) {
  std::map<std::string, std::vector<double>> strengths;
  for (std::size_t i = 0; i < evidence.size(); ++i)
    if (!groups[i].empty()) strengths[groups[i]].push_back(strength(evidence[i]));
  for (std::size_t i = 0; i < evidence.size(); ++i)
    if (!groups[i].empty())
      for (double& ratio : evidence[i].log_ratios) ratio *= group_weight(strengths[groups[i]]);
}

}  // namespace

std::vector<FactEvidence> fact_evidence(const EnteredFacts& entered,
                                        std::span<const WorkshopFact> facts, const Profile& profile,
                                        const std::vector<Hypothesis>& hypotheses) {
  std::vector<FactEvidence> evidence;
  std::vector<std::string> groups;
  for (const WorkshopFact& fact : facts) {
    const auto entry = entered.find(fact.key);
    if (entry == entered.end()) continue;
    if (std::ranges::find(fact.values, entry->second) == fact.values.end()) continue;
    evidence.push_back({fact.key, fmt::format("{}: {}", fact.question, entry->second),
                        log_ratios(fact, entry->second, profile, hypotheses)});
    for (double& ratio : evidence.back().log_ratios) ratio *= trust_in(facts, fact.key, entered);
    groups.push_back(fact.group);
  }
  weaken_dependent(evidence, groups);
  return evidence;
}

}  // namespace howl
