#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "src/profile/profile.h"
#include "src/reasoning/fact_evidence.h"
#include "src/reasoning/hypotheses.h"
#include "src/reasoning/next_tests.h"
#include "src/reasoning/workshop_facts.h"
#include "tests/src/reasoning/reasoning_scene.h"

// Published examples, from the text of a profile and of workshop facts to what is proposed.

using namespace howl;
using namespace howl::test;

namespace {

const std::string kHead =
    "name = \"n\"\ntitle = \"t\"\ndescription = \"d\"\n"
    "[[probe_point]]\nname = \"p\"\ndescription = \"where\"\n";

/// Sources that sound alike, so that only how often they fail tells them apart.
std::string source_text(const std::string& name, double how_often, double hours) {
  return "[[source]]\nname = \"" + name + "\"\ncomponent = \"" + name +
         "\"\nkind = \"engine oil pump\"\nmakes = [{ what = \"lobes\", count = 9 }]\nhow_often = " +
         std::to_string(how_often) + "\ncause = [{ id = \"" + name +
         " worn\", share = 1, repair = \"replace " + name + "\", hours = " + std::to_string(hours) +
         " }]\n";
}

const std::string kFact = R"([[fact]]
key = "look"
question = "Look at it"
how = "Look"
minutes = 4
values = ["found", "nothing"]
usually = { chances = { found = 0.5, nothing = 0.5 }, basis = "from memory" }
[[fact.if]]
causes = ["broken"]
chances = { found = 0.9, nothing = 0.1 }
basis = "from memory"
[[fact.if]]
causes = ["sound"]
chances = { found = 0.2, nothing = 0.8 }
basis = "from memory"
)";

const std::string kTwoCauses =
    "[[source]]\nname = \"pump\"\nkind = \"engine oil pump\"\n"
    "cause = [{ id = \"broken\", share = 0.5, repair = \"replace\", hours = 1 }, "
    "{ id = \"sound\", share = 0.5, repair = \"nothing\", hours = 1 }]\n";

}  // namespace

TEST_CASE("from a profile's text: repairs come in falling chance per hour") {
  // Heckerman, Breese and Rommelse 1995: p = .5, .3, .2 at 4, 1 and 2: B, A, C at 4.2, against 4.9
  // for A, B, C. The class of the rest takes a share r of the chances, which no repair mends, so
  // that all is tried: (1 - r)·4.2 + r·(1 + 4 + 2), worked out by hand.
  const Profile profile = parse_profile(
      kHead + source_text("a", 0.5, 4.0) + source_text("b", 0.3, 1.0) + source_text("c", 0.2, 2.0),
      "my.toml");
  const Verdict verdict =
      judged(analysis_of(tone_at_order(9.0, 0.002, {1e-9, 0.6, 0.4, 0.0, 1e-6})), profile);
  REQUIRE(verdict.repairs.size() == 3);
  CHECK(verdict.repairs[0].component == "b");
  CHECK(verdict.repairs[1].component == "a");
  CHECK(verdict.repairs[2].component == "c");
  const double rest = chance_of_suspect(verdict, "");
  CHECK(rest > 0.0);
  CHECK(chance_of_suspect(verdict, "a") == doctest::Approx(0.5 * (1.0 - rest)));
  CHECK(verdict.expected_repair_hours == doctest::Approx((1.0 - rest) * 4.2 + rest * 7.0));
}

TEST_CASE(
    "from a profile's text: what a test is worth, and what its outcome makes of the chances") {
  // Sensitivity 0.9, specificity 0.8, prior 0.5: P(+) 0.55, posterior 0.8182 or 0.1111,
  // 0.3973 bit (naive Bayes and Shannon, worked by hand: 1 - 0.55·H(0.8182) - 0.45·H(0.1111)).
  const Profile profile = parse_profile(kHead + kTwoCauses, "my.toml");
  const std::vector<WorkshopFact> facts = parse_workshop_facts(kFact, "facts.toml");
  const std::vector<Hypothesis> hypotheses = hypotheses_of(profile);
  REQUIRE(hypotheses.size() == 3);
  const Belief belief{0.5, 0.5, 0.0};  // the class of the rest ruled out
  const auto tests = next_tests({profile, facts, {}, {}}, nullptr, hypotheses, belief);
  REQUIRE(tests.size() == 1);
  CHECK(tests.front().id == "fact:look");
  CHECK(tests.front().information_bits == doctest::Approx(0.3973).epsilon(2e-4));
  CHECK(tests.front().why == "tells broken from sound");

  const auto after = [&](const char* found) {
    const auto evidence = fact_evidence({{"look", found}}, facts, profile, hypotheses);
    return posterior(belief, evidence.front().log_ratios).value().front();
  };
  CHECK(after("found") == doctest::Approx(0.8182).epsilon(1e-4));
  CHECK(after("nothing") == doctest::Approx(0.1111).epsilon(1e-3));
}

TEST_CASE("from a profile's text: of two tests that tell as much, the quicker one comes first") {
  // de Kleer and Williams 1987: most information for its cost.
  const std::string slow = kFact;
  std::string quick = kFact;
  quick.replace(quick.find("\"look\""), 6, "\"glance\"");
  quick.replace(quick.find("minutes = 4"), 11, "minutes = 1");
  const Profile profile = parse_profile(kHead + kTwoCauses, "my.toml");
  const auto facts = parse_workshop_facts(slow + quick, "facts.toml");
  const auto tests =
      next_tests({profile, facts, {}, {}}, nullptr, hypotheses_of(profile), Belief{0.5, 0.5, 0.0});
  REQUIRE(tests.size() == 2);
  CHECK(tests.front().id == "fact:glance");
  CHECK(tests.front().information_bits == doctest::Approx(tests.back().information_bits));
}
