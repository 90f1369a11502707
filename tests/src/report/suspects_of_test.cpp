#include "src/report/suspects_of.h"

#include <doctest/doctest.h>

using namespace howl;

namespace {

Verdict a_verdict() {
  Verdict verdict;
  verdict.about_words = "order 10.00, speed-locked";
  const std::vector<EvidenceItem> evidence{{"order", "fits", 9.0},
                                           {"before", "often at fault", -8.0},
                                           {"where", "loudest elsewhere", -4.0},
                                           {"blows", "hardly matters", 0.9}};
  verdict.suspects = {{"pump", "pump", 0.97, evidence, {}},
                      {"", "something not in this profile", 0.015, evidence, {}},
                      {"gears", "gears", 0.009, evidence, {}},
                      {"tyre", "tyre", 0.006, evidence, {}}};
  return verdict;
}

}  // namespace

TEST_CASE("evidence below 1 dB and what was known before are left out, and so is all of the rest") {
  const SuspectsPicture picture = suspects_of(Case{}, a_verdict());
  CHECK(picture.subtitle == "Suspects for the howl (order 10.00, speed-locked)");
  REQUIRE(picture.suspects.size() == 3);  // three in any case, more from 2 % on
  REQUIRE(picture.suspects[0].evidence.size() == 2);
  CHECK(picture.suspects[0].evidence[0].words == "fits");
  CHECK(picture.suspects[0].evidence[1].weight_db == -4.0);
  CHECK(picture.suspects[1].name == "something not in this profile");
  CHECK(picture.suspects[1].evidence.empty());
}

TEST_CASE("the fourth suspect has its bar, without an account") {
  Verdict verdict = a_verdict();
  for (Suspect& suspect : verdict.suspects) suspect.probability = 0.25;
  const SuspectsPicture picture = suspects_of(Case{}, verdict);
  REQUIRE(picture.suspects.size() == 4);
  CHECK_FALSE(picture.suspects[2].evidence.empty());
  CHECK(picture.suspects[3].evidence.empty());
}

TEST_CASE("without suspects the conclusion says why") {
  Verdict verdict;
  verdict.conclusion = "Nothing howls.";
  CHECK(suspects_of(Case{}, verdict).why_none == "Nothing howls.");
  CHECK_FALSE(suspects_of(Case{}, Verdict{}).why_none.empty());
}
