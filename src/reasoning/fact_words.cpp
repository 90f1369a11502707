#include "src/reasoning/fact_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "src/percent_text.h"

namespace howl {

namespace {

const std::string* text_of(const std::map<std::string, std::string>& texts,
                           const std::string& value) {
  const auto found = texts.find(value);
  return found == texts.end() ? nullptr : &found->second;
}

/// Of a fact that tells how another was found out.
std::string trust_words(const WorkshopFact::Trust& trust, const std::string& value,
                        const EnteredFacts& entered, std::span<const WorkshopFact> facts) {
  const WorkshopFact* const other = find_fact(facts, trust.in);
  const std::string name = other == nullptr ? trust.in : other->question;
  if (!entered.contains(trust.in)) return fmt::format("Counts once this is entered too: {}", name);
  const double factor = trust.by_value.at(value);
  return fmt::format("So this counts {}: {}", factor < 1.0 ? percent_text(factor) : "in full",
                     name);
}

double weight_for(const Suspect& suspect, const std::string& key) {
  const auto item = std::ranges::find(suspect.evidence, "fact:" + key, &EvidenceItem::id);
  return item == suspect.evidence.end() ? 0.0 : item->weight_db;
}

/// Names the likeliest suspect that it moves.
std::string weight_words(const std::string& key, std::span<const Suspect> suspects) {
  if (suspects.empty()) return "Taken in; no suspect is there for it to speak for or against";
  for (const Suspect& suspect : suspects) {
    const double weight = weight_for(suspect, key);
    if (suspect.source.empty() || std::abs(weight) < kTellingDb) continue;
    return fmt::format("Speaks {} {} ({:+.0f} dB)", weight > 0.0 ? "for" : "against",
                       suspect.source, weight);
  }
  return "Taken in; it says little either way of which part howls";
}

std::optional<std::string> found_value(const EnteredFacts& entered, const WorkshopFact& fact) {
  const auto entry = entered.find(fact.key);
  if (entry == entered.end() || std::ranges::find(fact.values, entry->second) == fact.values.end())
    return std::nullopt;
  return entry->second;
}

}  // namespace

std::string fact_value_words(std::string value) {
  std::ranges::replace(value, '-', ' ');
  return value;
}

std::string found_words(const WorkshopFact& fact, const std::string& value) {
  return fmt::format("{}: {}. ", fact.question, fact_value_words(value));
}

std::vector<std::string> fact_remarks(const EnteredFacts& entered,
                                      std::span<const WorkshopFact> facts,
                                      std::span<const Suspect> suspects) {
  std::vector<std::string> remarks;
  for (const WorkshopFact& fact : facts) {
    const auto value = found_value(entered, fact);
    if (!value) continue;
    const std::string* const says = text_of(fact.says, *value);
    const std::string meaning = says != nullptr ? *says
                                : fact.trust    ? trust_words(*fact.trust, *value, entered, facts)
                                                : weight_words(fact.key, suspects);
    remarks.push_back(found_words(fact, *value) + meaning);
  }
  return remarks;
}

std::vector<std::string> facts_by_themselves(const EnteredFacts& entered,
                                             std::span<const WorkshopFact> facts) {
  std::vector<std::string> sentences;
  for (const WorkshopFact& fact : facts) {
    const auto value = found_value(entered, fact);
    const std::string* const means = value ? text_of(fact.means, *value) : nullptr;
    if (means != nullptr)
      sentences.push_back(
          fmt::format("{}Whatever howls, this means {}.", found_words(fact, *value), *means));
  }
  return sentences;
}

}  // namespace howl
