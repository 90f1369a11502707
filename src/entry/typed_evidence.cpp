#include "src/entry/typed_evidence.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "src/case/case_folder.h"
#include "src/entry/names.h"
#include "src/errors.h"
#include "src/lower_case.h"

namespace howl {
namespace {

std::vector<std::string> keys_of(std::span<const WorkshopFact> facts) {
  std::vector<std::string> keys;
  for (const WorkshopFact& fact : facts) keys.push_back(fact.key);
  return keys;
}

const WorkshopFact& fact_named(const std::string& key, const std::string& typed,
                               std::span<const WorkshopFact> facts) {
  if (const WorkshopFact* fact = find_fact(facts, key)) return *fact;
  const std::vector<std::string> known = keys_of(facts);
  throw Error(Fault::command, typed, "there is no such workshop fact",
              did_you_mean(key, known) + "known are " + joined(known, ", "));
}

}  // namespace

std::string plain_word(std::string word) {
  for (char& c : word) c = c == ' ' || c == '_' ? '-' : lower_case(c);
  return word;
}

WorkshopEvidence evidence_of(const std::string& typed, const std::string& note,
                             std::span<const WorkshopFact> facts) {
  const std::size_t sign = typed.find('=');
  const WorkshopFact& fact = fact_named(plain_word(typed.substr(0, sign)), typed, facts);
  if (sign == std::string::npos)
    throw Error(Fault::command, typed, "lacks what was found",
                fmt::format("write {}={}", fact.key, joined(fact.values, "|")));
  const std::string word = plain_word(typed.substr(sign + 1));
  if (std::ranges::find(fact.values, word) == fact.values.end())
    throw Error(Fault::command, typed, fmt::format("'{}' has no such value", fact.key),
                did_you_mean(word, fact.values) + "use one of " + joined(fact.values, ", "));
  return {.key = fact.key, .value = word, .note = note, .added = now_as_text()};
}

}  // namespace howl
