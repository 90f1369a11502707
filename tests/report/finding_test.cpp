#include "src/report/finding.h"

#include <doctest/doctest.h>

#include "tests/report/example_analysis.h"

namespace howl {
namespace {

using testing::example_analysis;

TEST_CASE("The finding names the loudest point, how sure that is, and the strongest howl") {
  const Finding finding = finding_of(example_analysis());
  CHECK(finding.where ==
        "Loudest in the band orders 10.80 … 11.20: transmission pan (clear, 97 %); next is "
        "steering pump, 6.3 dB below.");
  CHECK(finding.what ==
        "The strongest howl (tone1) is speed-locked, order 11.00 (10.98 … 11.02), driven "
        "directly.");
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

TEST_CASE("An empty analysis says that nothing howls") {
  const Finding finding = finding_of(Analysis{});
  CHECK(finding.where == "Nothing howls in these takes, so there is nothing to rank.");
  CHECK(finding.what == "No tone stands out.");
}

TEST_CASE("The engine's own firing is not a howl") {
  Analysis analysis = example_analysis();
  analysis.tones = {analysis.tones[2], analysis.tones[1]};
  REQUIRE(strongest_howl(analysis) != nullptr);
  CHECK(strongest_howl(analysis)->id == "tone2");
  CHECK(finding_of(analysis).what ==
        "The strongest howl (tone2) is at 812 Hz, and its pitch behaviour is undetermined.");
  analysis.tones.pop_back();
  CHECK(strongest_howl(analysis) == nullptr);
  CHECK(finding_of(analysis).what == "The tones that stand out belong to the engine's firing.");
}

}  // namespace
}  // namespace howl
