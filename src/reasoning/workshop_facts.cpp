#include "src/reasoning/workshop_facts.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <system_error>

#include "embedded/embedded_workshop_facts.h"
#include "src/files/read_file.h"
#include "src/files/toml_reader.h"
#include "src/files/user_folders.h"

namespace howl {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t largest_file_bytes = 1'000'000;
constexpr Interval kPossible{0.001, 0.999};
constexpr Interval kFactor{0.0, 1.0};
constexpr Interval kMinutes{0.1, 600.0};
/// So that thirds may be written as 0.333.
constexpr double kRounding = 0.005;

bool is_plain_word(std::string_view word) {
  return !word.empty() && std::ranges::all_of(word, [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
  });
}

void require_plain(const TomlReader& in, std::string_view key, const std::string& word) {
  if (!is_plain_word(word))
    in.fail(key, fmt::format("holds '{}'", word),
            "write it in lower-case letters, digits and hyphens");
}

bool is_value(const WorkshopFact& fact, const std::string& name) {
  return std::ranges::find(fact.values, name) != fact.values.end();
}

void require_value(const TomlReader& in, std::string_view key, const WorkshopFact& fact,
                   const std::string& name) {
  if (!is_value(fact, name))
    in.fail(key, fmt::format("names '{}', which is no value of '{}'", name, fact.key),
            fmt::format("use {}", fmt::join(fact.values, ", ")));
}

/// One number for each value of the fact, and for nothing else.
std::map<std::string, double> numbers_by_value(TomlReader& in, std::string_view key,
                                               const WorkshopFact& fact, Interval range) {
  std::map<std::string, double> numbers = in.number_map(key, range);
  for (const auto& [name, number] : numbers) require_value(in, key, fact, name);
  for (const std::string& value : fact.values)
    if (!numbers.contains(value))
      in.fail(key, fmt::format("lacks the value '{}'", value), "give a number for every value");
  return numbers;
}

std::map<std::string, double> chances_in(TomlReader& in, const WorkshopFact& fact) {
  std::map<std::string, double> chances = numbers_by_value(in, "chances", fact, kPossible);
  double sum = 0.0;
  for (const auto& [value, chance] : chances) sum += chance;
  if (std::abs(sum - 1.0) > kRounding)
    in.fail("chances", fmt::format("sums to {:.4g}", sum), "make the chances sum to 1");
  for (auto& [value, chance] : chances) chance /= sum;
  return chances;
}

WorkshopFact::Chances chance_set_in(TomlReader& in, const WorkshopFact& fact) {
  return {.of = chances_in(in, fact), .basis = in.text("basis")};
}

std::vector<std::string> values_in(TomlReader& in) {
  std::vector<std::string> values;
  for (std::string& value : in.texts("values")) {
    require_plain(in, "values", value);
    if (std::ranges::find(values, value) != values.end())
      in.fail("values", fmt::format("names '{}' twice", value), "take one of them out");
    values.push_back(std::move(value));
  }
  if (values.size() < 2)
    in.fail("values", "holds fewer than two", "name all that can be found, the usual among it");
  return values;
}

void read_causes(TomlReader in, WorkshopFact& fact) {
  const WorkshopFact::Chances chances = chance_set_in(in, fact);
  const std::vector<std::string> causes = in.texts("causes");
  if (causes.empty()) in.fail("causes", "is empty", "name at least one cause");
  for (const std::string& cause : causes)
    if (!fact.if_cause.emplace(cause, chances).second)
      in.fail("causes", fmt::format("names '{}' once more for the same fact", cause),
              "give each cause one set of chances");
  in.finish();
}

std::map<std::string, std::string> texts_by_value(TomlReader& in, std::string_view key,
                                                  const WorkshopFact& fact) {
  if (!in.has(key)) return {};
  std::map<std::string, std::string> texts = in.text_map(key);
  for (const auto& [name, text] : texts) require_value(in, key, fact, name);
  return texts;
}

WorkshopFact::Trust trust_of(TomlReader in, const WorkshopFact& fact) {
  WorkshopFact::Trust trust{.in = in.text("in"),
                            .by_value = numbers_by_value(in, "by_value", fact, kFactor),
                            .not_entered = in.number("not_entered", kFactor),
                            .basis = in.text("basis")};
  in.finish();
  return trust;
}

WorkshopFact fact_in(TomlReader& in) {
  WorkshopFact fact;
  fact.key = in.text("key");
  require_plain(in, "key", fact.key);
  fact.question = in.text("question");
  fact.how = in.text("how");
  fact.minutes = in.number("minutes", kMinutes);
  if (in.has("cautions")) fact.cautions = in.texts("cautions");
  fact.values = values_in(in);
  fact.group = in.text_or("group", "");
  TomlReader usually = in.table("usually");
  fact.usually = chance_set_in(usually, fact);
  usually.finish();
  for (const TomlReader& causes : in.tables("if")) read_causes(causes, fact);
  fact.says = texts_by_value(in, "says", fact);
  fact.means = texts_by_value(in, "means", fact);
  if (const auto trust = in.table_if("trust")) fact.trust = trust_of(*trust, fact);
  in.finish();
  return fact;
}

/// What can only be judged once all facts are known.
void require_known_trust(TomlReader& in, const WorkshopFact& fact,
                         std::span<const WorkshopFact> facts) {
  if (!fact.trust) return;
  const TomlReader trust = in.table("trust");
  if (fact.trust->in == fact.key)
    trust.fail("in", "names the fact itself", "name the fact whose weight it decides");
  if (find_fact(facts, fact.trust->in) == nullptr)
    trust.fail("in", fmt::format("names '{}', which is no fact here", fact.trust->in),
               "correct its spelling, or remove the table");
}

bool may_be_there(const fs::path& file) {
  std::error_code problem;
  return fs::exists(file, problem) || problem;
}

}  // namespace

double chance_of(const WorkshopFact& fact, const std::string& cause, const std::string& value) {
  const auto bearing = fact.if_cause.find(cause);
  return (bearing != fact.if_cause.end() ? bearing->second : fact.usually).of.at(value);
}

const WorkshopFact* find_fact(std::span<const WorkshopFact> facts, std::string_view key) {
  const auto found = std::ranges::find(facts, key, &WorkshopFact::key);
  return found != facts.end() ? &*found : nullptr;
}

double trust_in(std::span<const WorkshopFact> facts, std::string_view key,
                const std::map<std::string, std::string>& entered) {
  double factor = 1.0;
  for (const WorkshopFact& fact : facts) {
    if (!fact.trust || fact.trust->in != key) continue;
    const auto said = entered.find(fact.key);
    const bool known = said != entered.end() && fact.trust->by_value.contains(said->second);
    factor *= known ? fact.trust->by_value.at(said->second) : fact.trust->not_entered;
  }
  return factor;
}

std::vector<WorkshopFact> parse_workshop_facts(std::string_view toml, const std::string& where) {
  const toml::table table = parse_toml(toml, where);
  TomlReader whole(table, where);
  std::vector<WorkshopFact> facts;
  for (TomlReader& in : whole.tables("fact")) {
    WorkshopFact fact = fact_in(in);
    if (find_fact(facts, fact.key) != nullptr)
      in.fail("key", fmt::format("'{}' occurs twice", fact.key), "give every fact its own key");
    facts.push_back(std::move(fact));
  }
  if (facts.empty()) whole.fail("fact", "is missing", "begin each fact with [[fact]]");
  std::size_t place = 0;
  for (TomlReader& in : whole.tables("fact")) require_known_trust(in, facts[place++], facts);
  whole.finish();
  return facts;
}

std::optional<fs::path> shop_facts_file() {
  const auto configuration = configuration_folder();
  if (!configuration) return std::nullopt;
  return *configuration / "howlpoint" / "workshop-facts.toml";
}

std::string_view built_in_workshop_facts() { return embedded_workshop_facts().front().content; }

std::vector<WorkshopFact> load_workshop_facts() {
  const auto own = shop_facts_file();
  if (own && may_be_there(*own))
    return parse_workshop_facts(read_text_file(*own, largest_file_bytes), own->string());
  return parse_workshop_facts(built_in_workshop_facts(), "built-in workshop-facts.toml");
}

}  // namespace howl
