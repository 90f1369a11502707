#include "src/reasoning/fact_evidence.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>

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

/// All but the strongest of each group count less.
void weaken_dependent(std::vector<FactEvidence>& evidence, const std::vector<std::string>& groups) {
  std::map<std::string, std::size_t> strongest;
  for (std::size_t i = 0; i < evidence.size(); ++i) {
    if (groups[i].empty()) continue;
    const auto [best, first] = strongest.try_emplace(groups[i], i);
    if (!first && strength(evidence[i]) > strength(evidence[best->second])) best->second = i;
  }
  for (std::size_t i = 0; i < evidence.size(); ++i)
    if (!groups[i].empty() && strongest[groups[i]] != i)
      for (double& ratio : evidence[i].log_ratios) ratio *= kDependentShare;
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
    const auto says = fact.says.find(entry->second);
    evidence.push_back({fact.key, fmt::format("{}: {}", fact.question, entry->second),
                        says == fact.says.end() ? std::string() : says->second,
                        log_ratios(fact, entry->second, profile, hypotheses)});
    for (double& ratio : evidence.back().log_ratios) ratio *= trust_in(facts, fact.key, entered);
    groups.push_back(fact.group);
  }
  weaken_dependent(evidence, groups);
  return evidence;
}

}  // namespace howl
