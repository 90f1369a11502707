#include "src/report/evidence_list.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "src/report/json_values.h"
#include "src/report/text_columns.h"

namespace howl {

namespace {

using Entries = std::span<const WorkshopEvidence>;
using Facts = std::span<const WorkshopFact>;

constexpr std::size_t kWidth = 96;
constexpr std::size_t kIndent = 4;

const WorkshopEvidence* entry_of(Entries entered, const std::string& key) {
  const auto found = std::ranges::find(entered, key, &WorkshopEvidence::key);
  return found != entered.end() ? &*found : nullptr;
}

/// Empty where the file has nothing to say of that value.
std::string remark_on(const WorkshopEvidence& entry, Facts facts) {
  const WorkshopFact* fact = find_fact(facts, entry.key);
  if (fact == nullptr) return {};
  const auto says = fact->says.find(entry.value);
  return says != fact->says.end() ? says->second : std::string{};
}

bool is_known(const WorkshopEvidence& entry, Facts facts) {
  const WorkshopFact* fact = find_fact(facts, entry.key);
  return fact != nullptr && std::ranges::find(fact->values, entry.value) != fact->values.end();
}

std::string text_of(const WorkshopEvidence& entry, Facts facts) {
  std::string text = wrapped(fmt::format("{}={}", entry.key, entry.value), 2, kWidth);
  if (!is_known(entry, facts))
    text += wrapped("Not known here: it is kept, and counts for nothing.", kIndent, kWidth);
  if (const std::string remark = remark_on(entry, facts); !remark.empty())
    text += wrapped(remark + ".", kIndent, kWidth);
  if (!entry.note.empty()) text += wrapped("Note: " + entry.note, kIndent, kWidth);
  return text;
}

std::string text_of(const WorkshopFact& fact) {
  std::string text =
      wrapped(fmt::format("{}={}", fact.key, fmt::join(fact.values, "|")), 2, kWidth) +
      wrapped(fmt::format("{} ({:g} min). {}", fact.question, fact.minutes, fact.how), kIndent,
              kWidth);
  for (const std::string& caution : fact.cautions)
    text += wrapped("Caution: " + caution + ".", kIndent, kWidth);
  return text;
}

Json json_of(const WorkshopEvidence& entry, Facts facts) {
  return {{"key", entry.key},
          {"value", entry.value},
          {"known", is_known(entry, facts)},
          {"says", text_or_null(remark_on(entry, facts))},
          {"note", text_or_null(entry.note)},
          {"added", text_or_null(entry.added)}};
}

Json json_of(const WorkshopFact& fact, Entries entered) {
  const WorkshopEvidence* entry = entry_of(entered, fact.key);
  return {{"key", fact.key},
          {"question", fact.question},
          {"how", fact.how},
          {"minutes", fact.minutes},
          {"cautions", fact.cautions},
          {"values", fact.values},
          {"entered", entry != nullptr ? Json(entry->value) : Json(nullptr)}};
}

}  // namespace

std::string evidence_list(Entries entered, Facts facts, Facts offered) {
  std::string text = entered.empty() ? "Nothing is entered yet.\n" : "Entered:\n";
  for (const WorkshopEvidence& entry : entered) text += text_of(entry, facts);
  std::string rest;
  for (const WorkshopFact& fact : offered)
    if (entry_of(entered, fact.key) == nullptr) rest += text_of(fact);
  if (rest.empty()) return text;
  return text +
         "\nCan be entered. The vehicle's service manual, local codes and the limits of licensed\n"
         "practice come before what is said here.\n" +
         rest;
}

std::string evidence_json(Entries entered, Facts facts, Facts offered) {
  Json entries = Json::array();
  for (const WorkshopEvidence& entry : entered) entries.push_back(json_of(entry, facts));
  Json known = Json::array();
  for (const WorkshopFact& fact : offered) known.push_back(json_of(fact, entered));
  const Json document{{"schema", "howlpoint.evidence/1"},
                      {"entered", std::move(entries)},
                      {"facts", std::move(known)}};
  constexpr int indent = 2;
  return document.dump(indent, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace howl
