#include "src/report/warning_words.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tests/report/example_analysis.h"

namespace howl {
namespace {

using Words = std::vector<std::string>;

TEST_CASE("A warning is said once, with all the takes that it is about") {
  Analysis analysis = testing::example_analysis();
  const TakeResult take = analysis.takes[1];
  analysis.takes.clear();
  for (const char* id : {"t01", "t02", "t03", "t05"}) {
    analysis.takes.push_back(take);
    analysis.takes.back().id = id;
    analysis.takes.back().warnings = {"the speed moved"};
  }
  analysis.takes[1].warnings.emplace_back("too short");
  CHECK(warnings_of_takes(analysis) == Words{"t01 to t03, t05: the speed moved", "t02: too short"});
  CHECK(warnings_of_takes(analysis, Words{"t02", "t05"}) ==
        Words{"t02, t05: the speed moved", "t02: too short"});
  CHECK(warnings_of_takes(analysis, Words{}).empty());
}

TEST_CASE("A warning is said once, with all the points that it is about") {
  Analysis analysis;
  for (const char* point : {"pan", "bell housing", "front"}) {
    RankedPoint ranked;
    ranked.point = point;
    if (ranked.point != "pan") ranked.warnings = {"the level is at most this"};
    analysis.ranking.push_back(ranked);
  }
  CHECK(warnings_of_points(analysis) == Words{"bell housing, front: the level is at most this"});
}

}  // namespace
}  // namespace howl
