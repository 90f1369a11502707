#include "src/reasoning/fact_words.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

using namespace howl;

namespace {

std::vector<WorkshopFact> known_facts() {
  return parse_workshop_facts(built_in_workshop_facts(), "built in");
}

/// A suspect that a fact moved by so much.
Suspect moved(const std::string& source, const std::string& key, double weight_db) {
  Suspect suspect;
  suspect.source = suspect.component = source;
  suspect.evidence = {{"fact:" + key, "", weight_db}};
  return suspect;
}

std::string remark_on(const EnteredFacts& entered, const std::vector<Suspect>& suspects) {
  const std::vector<std::string> remarks = fact_remarks(entered, known_facts(), suspects);
  REQUIRE(remarks.size() == entered.size());
  return remarks.front();
}

}  // namespace

TEST_CASE("every fact that was entered is told, also where it says little") {
  const EnteredFacts right{{"fluid-level", "right"}};
  const std::string fact = "Level of the automatic transmission's fluid: right. ";
  CHECK(remark_on(right, {moved("pump", "fluid-level", -0.9)}) ==
        fact + "Taken in; it says little either way of which part howls");
  CHECK(remark_on(right, {}) ==
        fact + "Taken in; no suspect is there for it to speak for or against");
}

TEST_CASE("what a fact does is told of the likeliest suspect that it moves") {
  const EnteredFacts right{{"fluid-level", "right"}};
  CHECK(remark_on(right, {moved("pump", "leak", -9.0), moved("converter", "fluid-level", -3.2),
                          moved("bearing", "fluid-level", 5.0)})
            .ends_with(". Speaks against converter (-3 dB)"));
  CHECK(remark_on(right, {moved("bearing", "fluid-level", 5.0)})
            .ends_with(". Speaks for bearing (+5 dB)"));
}

TEST_CASE("what a technician should know of a find goes before its weight") {
  CHECK(remark_on({{"fluid-level", "low"}}, {moved("pump", "fluid-level", 9.0)})
            .find("Low fluid from a leak is the best case") != std::string::npos);
}

TEST_CASE("how a level was read is told by what it makes of the level") {
  CHECK(remark_on({{"fluid-level-read", "as-manual"}}, {})
            .ends_with("Counts once this is entered too: Level of the automatic transmission's "
                       "fluid"));
  const auto remarks = fact_remarks({{"fluid-level", "right"}, {"fluid-level-read", "as-manual"}},
                                    known_facts(), {});
  REQUIRE(remarks.size() == 2);
  CHECK(
      remarks[1].ends_with("So this counts in full: Level of the automatic transmission's "
                           "fluid"));
}

TEST_CASE("what a find means by itself is said in the words of the facts' file") {
  const auto found = [](const EnteredFacts& entered) {
    return facts_by_themselves(entered, known_facts());
  };
  CHECK(found({{"fluid-look", "dark"}, {"pan-debris", "fine-film"}}).empty());
  const std::vector<std::string> both = found({{"fluid-look", "burnt"}, {"pan-debris", "chips"}});
  REQUIRE(both.size() == 2);
  CHECK(both[0] ==
        "Colour and smell of the automatic transmission's fluid: burnt. Whatever howls, this means "
        "damage inside the transmission: linings have slipped.");
  CHECK(both[1].starts_with("Metal in the transmission's pan: chips. Whatever howls, this means "));
}

// So that the head of an answer is not stronger than the numbers behind it; as the file's head
// says.
TEST_CASE("a value that means something by itself is five times as frequent under a cause") {
  std::size_t count = 0;
  for (const WorkshopFact& fact : known_facts())
    for (const auto& [value, words] : fact.means) {
      CAPTURE(fact.key);
      CAPTURE(value);
      ++count;
      double most = 0.0;
      for (const auto& [cause, chances] : fact.if_cause)
        most = std::max(most, chances.of.at(value) / fact.usually.of.at(value));
      CHECK(most >= 5.0);
      CHECK(fact.says.contains(value));  // told in full among what the workshop found
    }
  CHECK(count > 0);
}
