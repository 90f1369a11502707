#include "src/report/finding.h"

#include <doctest/doctest.h>

#include "tests/report/example_analysis.h"

namespace howl {
namespace {

using testing::example_analysis;

TEST_CASE("The finding names the loudest point, how sure that is, and the strongest howl") {
  const Finding finding = finding_of(example_analysis());
  CHECK(finding.where ==
        "Loudest in the band orders 10.80 … 11.20: transmission pan, 6.3 dB above the next, "
        "steering pump (chance of being the loudest 97 %).");
  // 11 cycles a revolution at 1000 revolutions a minute: 11 · 1000 / 60 = 183.3 Hz.
  CHECK(finding.what ==
        "The strongest howl (tone1) is speed-locked, order 11.00 ±0.02 (183 Hz per 1000 rpm), "
        "driven directly.");
}

TEST_CASE("Without a clear difference the finding claims none") {
  Analysis analysis = example_analysis();
  analysis.ranking[0].call = Call::no_difference;
  analysis.ranking[0].probability_loudest = 0.54;
  CHECK(finding_of(analysis).where.starts_with("No point is surely the loudest"));
}

TEST_CASE("One measured point is not a ranking") {
  Analysis analysis = example_analysis();
  analysis.ranking.erase(analysis.ranking.begin() + 1);
  CHECK(finding_of(analysis).where.starts_with("Only one probe point can be judged"));
}

TEST_CASE("Points without a level are not ranked") {
  Analysis analysis = example_analysis();
  analysis.ranking.erase(analysis.ranking.begin(), analysis.ranking.begin() + 2);
  CHECK(finding_of(analysis).where.starts_with("No probe point has a level"));
}

TEST_CASE("An unsettled drive is said to be so") {
  Analysis analysis = example_analysis();
  analysis.tones[0].drive = Drive::unknown;
  CHECK(finding_of(analysis).what.ends_with("whether directly or by a belt is not settled."));
}

TEST_CASE("What ran in one gear may be the engine's or the road's, and the finding says so") {
  Analysis analysis = example_analysis();
  analysis.tones[0].drive = Drive::engine_or_road;
  CHECK(finding_of(analysis).what.ends_with(
      "whether it follows the engine or the road is not settled: they ran in step."));
}

TEST_CASE("A howl that is a multiple of its family's base is told with it") {
  Analysis analysis = example_analysis();
  analysis.tones[0].family = "A";
  FamilyResult family;
  family.id = "A";
  family.base = 5.5;
  family.members = {{"tone1", 2, 0}, {"tone4", 3, 0}};
  analysis.families = {family};
  CHECK(finding_of(analysis).what ==
        "The strongest howl (tone1) is speed-locked, order 11.00 ±0.02 (183 Hz per 1000 rpm), "
        "2 times order 5.50, driven directly.");
  analysis.families[0].members[0].harmonic = 1;
  CHECK(finding_of(analysis).what.find("times order") == std::string::npos);
}

TEST_CASE("Of a band that the user chose, the finding names the howl in it, if there is one") {
  using Unit = AnalysisRequest::Band::Unit;
  Analysis analysis = example_analysis();
  analysis.tones[1].track = {{0.0, 1800.0, 812.3, 0.2, "t01"}};
  const auto what_of = [&](Unit unit, Interval range) {
    analysis.suspect_band = SuspectBand{{unit, range}, true, ""};
    return finding_of(analysis).what;
  };
  CHECK(
      what_of(Unit::hertz, {800.0, 900.0}).starts_with("The strongest howl in this band (tone2)"));
  CHECK(what_of(Unit::order, {10.0, 12.0}).starts_with("The strongest howl in this band (tone1)"));
  CHECK(what_of(Unit::order, {12.0, 13.0}).starts_with("No howl was found in this band; the"));
  // A firing order lies in this band: something may hide under it.
  CHECK(what_of(Unit::order, {1.5, 2.5}).starts_with("The strongest howl in this band"));
  CHECK(what_of(Unit::order, {1.5, 2.5}).ends_with("the engine's firing makes this order too."));
}

TEST_CASE("A tone that a remark puts in doubt is not the strongest howl") {
  Analysis analysis = example_analysis();
  analysis.tones[0].remark = "above 5 kHz, where a hand-held probe has resonances of its own";
  CHECK(strongest_howl(analysis)->id == "tone2");
  analysis.tones[1].remark = analysis.tones[0].remark;
  CHECK(finding_of(analysis).what ==
        "The tones that stand out are the engine's firing, or doubtful (see Remarks).");
}

TEST_CASE("A case without takes is told from one in which nothing howls") {
  CHECK(finding_of(Analysis{}).where ==
        "The case has no takes yet, so there is nothing to analyse.");
}

TEST_CASE("An empty analysis says that nothing howls") {
  Analysis analysis;
  analysis.takes = example_analysis().takes;
  const Finding finding = finding_of(analysis);
  CHECK(finding.where == "Nothing howls in these takes, so there is nothing to rank.");
  CHECK(finding.what == "No tone stands out.");
}

TEST_CASE("The engine's own firing is not a howl") {
  Analysis analysis = example_analysis();
  analysis.tones = {analysis.tones[2], analysis.tones[1]};
  REQUIRE(strongest_howl(analysis) != nullptr);
  CHECK(strongest_howl(analysis)->id == "tone2");
  CHECK(finding_of(analysis).what ==
        "Nothing howls prominently; what stands out most (tone2) is at 812 Hz, and its pitch "
        "behaviour is undetermined. What lies at a firing order is taken for the engine's: if you "
        "hear a howl there, give its band.");
  analysis.tones.pop_back();
  CHECK(strongest_howl(analysis) == nullptr);
  CHECK(finding_of(analysis).what == "The tones that stand out belong to the engine's firing.");
}

}  // namespace
}  // namespace howl
