#include "src/report/suspect_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "src/percent_text.h"

namespace howl {
namespace {

constexpr std::size_t most_items = 4;
constexpr double least_chance = 0.02;

bool is_telling(const EvidenceItem& item) {
  return item.id != "before" && std::abs(item.weight_db) >= kTellingDb;
}

}  // namespace

std::vector<EvidenceItem> telling_evidence(const Suspect& suspect) {
  std::vector<EvidenceItem> items;
  if (suspect.source.empty()) return items;
  for (const EvidenceItem& item : suspect.evidence)
    if (is_telling(item) && items.size() < most_items) items.push_back(item);
  return items;
}

std::optional<double> weight_of_the_rest_db(const Suspect& suspect) {
  double rest = 0.0;
  for (const EvidenceItem& item : suspect.evidence)
    if (item.id != "before") rest += item.weight_db;
  for (const EvidenceItem& item : telling_evidence(suspect)) rest -= item.weight_db;
  if (suspect.source.empty() || std::abs(rest) < kTellingDb) return std::nullopt;
  return rest;
}

std::vector<Suspect> suspects_worth_naming(const Verdict& verdict, std::size_t least,
                                           std::size_t most) {
  std::vector<Suspect> named;
  for (const Suspect& suspect : verdict.suspects) {
    if (named.size() == most || (named.size() >= least && suspect.probability < least_chance))
      break;
    named.push_back(suspect);
  }
  return named;
}

std::string cause_words(const Suspect& suspect) {
  if (suspect.causes.size() < 2) return {};
  const Suspect::Cause& first = suspect.causes.front();
  return fmt::format("most likely: {} ({})", first.id,
                     percent_text(first.probability / suspect.probability));
}

}  // namespace howl
