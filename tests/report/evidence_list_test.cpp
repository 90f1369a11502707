#include "src/report/evidence_list.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

using namespace howl;

namespace {

std::vector<WorkshopFact> two_facts() {
  return parse_workshop_facts(R"(
[[fact]]
key = "level"
question = "Level of the fluid"
how = "Look."
minutes = 5
cautions = ["Fluid is hot"]
values = ["low", "right"]
usually = { chances = { low = 0.2, right = 0.8 }, basis = "from memory" }
says = { low = "Find the leak" }
[[fact]]
key = "belt"
question = "Belt"
how = "Look."
minutes = 0.5
values = ["good", "worn"]
usually = { chances = { good = 0.7, worn = 0.3 }, basis = "from memory" }
)",
                              "facts.toml");
}

const std::vector<WorkshopEvidence> some_evidence{
    {.key = "level", .value = "low", .note = "read twice", .added = "2024-05-01T12:00:00Z"},
    {.key = "seats", .value = "blue\x1b", .note = "", .added = ""}};

}  // namespace

TEST_CASE("the list of evidence says what was entered and means, then what can be entered") {
  const auto facts = two_facts();
  CHECK(evidence_list(some_evidence, facts, facts) == R"(Entered:
  level=low
    Find the leak.
    Note: read twice
  seats=blue?
    Not known here: it is kept, and counts for nothing.

Can be entered. The vehicle's service manual, local codes and the limits of licensed
practice come before what is said here.
  belt=good|worn
    Belt (0.5 min). Look.
)");
}

TEST_CASE("what can hurt stands with what can be entered") {
  const auto facts = two_facts();
  const std::string text = evidence_list({}, facts, facts);
  CHECK(text.starts_with("Nothing is entered yet.\n"));
  CHECK(text.find("    Caution: Fluid is hot.\n") != std::string::npos);
}

TEST_CASE("the list of evidence as JSON has null for what is not there") {
  const auto facts = two_facts();
  const auto json = nlohmann::json::parse(evidence_json(some_evidence, facts, facts));
  CHECK(json["schema"] == "howlpoint.evidence/1");
  REQUIRE(json["entered"].size() == 2);
  CHECK(json["entered"][0]["value"] == "low");
  CHECK(json["entered"][0]["known"] == true);
  CHECK(json["entered"][0]["says"] == "Find the leak");
  CHECK(json["entered"][1]["known"] == false);
  CHECK(json["entered"][1]["note"].is_null());
  REQUIRE(json["facts"].size() == 2);
  CHECK(json["facts"][0]["entered"] == "low");
  CHECK(json["facts"][1]["entered"].is_null());
  CHECK(json["facts"][0]["cautions"][0] == "Fluid is hot");
}
