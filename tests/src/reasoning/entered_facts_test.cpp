#include "src/reasoning/entered_facts.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "src/profile/profile.h"
#include "src/profile/source_toml.h"

using namespace howl;

namespace {

std::vector<WorkshopFact> built_in_facts() {
  return parse_workshop_facts(built_in_workshop_facts(), "built in");
}

Source source_with_cause(const std::string& id) {
  Source source;
  source.causes = {{.id = id, .share = 1.0, .repair = "mend", .hours = 1.0}};
  return source;
}

bool holds(const std::vector<WorkshopFact>& facts, const std::string& key) {
  return find_fact(facts, key) != nullptr;
}

}  // namespace

TEST_CASE("evidence that is not known here is kept out of the reckoning, and warned of") {
  const std::vector<WorkshopEvidence> evidence{
      {.key = "fluid-level", .value = "low", .note = "", .added = ""},
      {.key = "colour-of-seats", .value = "blue", .note = "", .added = ""},
      {.key = "leak", .value = "roof", .note = "", .added = ""}};
  const CheckedEvidence entered = entered_facts(built_in_facts(), evidence);
  CHECK(entered.values == std::map<std::string, std::string>{{"fluid-level", "low"}});
  REQUIRE(entered.warnings.size() == 2);
  CHECK(entered.warnings[0] ==
        "evidence 'colour-of-seats' is no workshop fact that is known here; it is kept, and counts "
        "for nothing");
  CHECK(entered.warnings[1] ==
        "evidence 'leak' has the value 'roof', which is not known here; it is kept, and counts for "
        "nothing");
}

TEST_CASE(
    "only facts that bear on the vehicle's sources are offered, with those that qualify them") {
  const std::vector<WorkshopFact> facts = built_in_facts();
  const std::vector<Source> automatic{source_with_cause("transmission fluid low")};
  const std::vector<WorkshopFact> offered = facts_for(automatic, facts);
  CHECK(holds(offered, "fluid-level"));
  CHECK(holds(offered, "fluid-level-read"));
  CHECK_FALSE(holds(offered, "gearbox-oil"));
  const std::vector<Source> manual{source_with_cause("gearbox oil low")};
  CHECK(holds(facts_for(manual, facts), "gearbox-oil"));
  CHECK_FALSE(holds(facts_for(manual, facts), "fluid-level-read"));
  CHECK(facts_for({}, facts).size() == facts.size());
}

TEST_CASE("a rail's pressure is asked of vehicles with a diesel's pump only") {
  const std::vector<WorkshopFact> facts = built_in_facts();
  const auto asked = [&](const std::string& profile) {
    const std::vector<WorkshopFact> of_profile = facts_for(load_profile(profile).sources, facts);
    return holds(of_profile, "rail-pressure");
  };
  CHECK(asked("diesel-van"));
  CHECK_FALSE(asked("inline-four-manual"));
  CHECK_FALSE(asked("transverse-four-automatic"));
}

TEST_CASE("every cause that a built-in fact names is one that some kind of source has") {
  std::set<std::string> known;
  for (const auto& [name, kind] : source_kinds())
    for (const Cause& cause : kind.source.causes) known.insert(cause.id);
  for (const WorkshopFact& fact : built_in_facts())
    for (const auto& [cause, chances] : fact.if_cause) {
      CAPTURE(fact.key);
      CAPTURE(cause);
      CHECK(known.contains(cause));
    }
}
