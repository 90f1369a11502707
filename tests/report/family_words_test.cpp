#include "src/report/family_words.h"

#include <doctest/doctest.h>

#include <string>

#include "src/report/analysis_table.h"
#include "tests/report/example_analysis.h"

using namespace howl;

namespace {

/// tone1 (order 11) with 2x, and sidebands one order away, of which only the lower is strong.
Analysis with_family() {
  Analysis analysis = testing::example_analysis();
  ToneResult second = analysis.tones[0];
  second.id = "tone4";
  second.order = 22.0;
  ToneResult lower = analysis.tones[0];
  lower.id = "tone5";
  lower.order = 10.0;
  lower.sideband = SidebandPart{"tone1", -1};
  ToneResult upper = lower;
  upper.id = "tone6";
  upper.order = 12.0;
  analysis.tones.insert(analysis.tones.end(), {second, lower, upper});
  FamilyResult family;
  family.id = "A";
  family.base = 11.0;
  family.spacing = 1.0;
  family.modulation_depth = 0.2;
  family.modulation_depth_ci95 = Interval{0.15, 0.25};
  family.sideband_asymmetry_db = -5.0;
  family.members = {{"tone5", 1, -1}, {"tone1", 1, 0}, {"tone6", 1, 1}, {"tone4", 2, 0}};
  analysis.families = {family};
  return analysis;
}

}  // namespace

TEST_CASE("A family is told in one sentence, by its first tone") {
  const Analysis analysis = with_family();
  CHECK(family_words(analysis.families[0], analysis) ==
        "tone1 with 2x; sidebands at ±1.00 order, depth 20 % (15 … 25 %), the lower stronger by 5 "
        "dB");
  CHECK(!told_with_family(analysis.tones[0], analysis));
  CHECK(!told_with_family(analysis.tones[1], analysis));
  CHECK(told_with_family(analysis.tones[3], analysis));
  CHECK(told_with_family(analysis.tones[4], analysis));
}

TEST_CASE("A base or a carrier that is not heard is named") {
  Analysis analysis = with_family();
  FamilyResult& family = analysis.families[0];
  family.spacing.reset();
  family.base = 5.5;
  family.members = {{"tone1", 2, 0}, {"tone4", 4, 0}, {"tone6", 3, 0}};
  CHECK(family_words(family, analysis) == "tone1, which is 2x a base of 5.50 orders, with 4x, 3x");
  family.base = 11.0;
  family.spacing = 1.0;
  family.modulation_depth.reset();
  family.carrier_heard = false;
  family.members = {{"tone5", 1, -1}, {"tone6", 1, 1}};
  CHECK(family_words(family, analysis) ==
        "tone5 and others: sidebands at ±1.00 order around 11.00 orders, where nothing is heard");
}

TEST_CASE("The table gives a family one row and one line") {
  Analysis analysis = with_family();
  const std::string text = analysis_table(testing::example_case(), analysis);
  CHECK(text.find("A: tone1 with 2x;") != std::string::npos);
  CHECK(text.find("tone5 ") == std::string::npos);
  CHECK(text.find("weaker") == std::string::npos);
}
