#include "src/analysis/ranking.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "tests/src/analysis/synth_takes.h"

using namespace howl;
using namespace howl::test;

namespace {

TakeAudio tone_take(const std::string& id, const std::string& point, double level_db) {
  constexpr auto samples = static_cast<std::size_t>(4.0 * kTakeRate);
  const auto seed = static_cast<std::uint64_t>(id.back());
  return hold_of(id, point, with(tone(samples, 300.0, level_db), hiss(samples, -70.0, seed)));
}

std::vector<std::string> warnings_at(const std::string& name, const std::vector<TakeAudio>& takes) {
  const AnalysisRequest::Band band{AnalysisRequest::Band::Unit::hertz, {290.0, 310.0}};
  const Ranking ranking = rank_points(takes, band, std::nullopt);
  const auto point = std::ranges::find(ranking.points, name, &RankedPoint::point);
  REQUIRE(point != ranking.points.end());
  return point->warnings;
}

}  // namespace

TEST_CASE("ranking: repeats farther apart than a hand explains are asked about") {
  std::vector<TakeAudio> takes{tone_take("t1", "pan", -30.0), tone_take("t2", "pan", -35.0),
                               tone_take("t3", "pump", -40.0)};
  CHECK_FALSE(warned(warnings_at("pan", takes), "gain"));
  takes.push_back(tone_take("t4", "pan", -42.0));
  CHECK(warned(warnings_at("pan", takes),
               "t1 is 12 dB louder in the band than t4 at the same speed and load: was the gain "
               "the same, and the probe set as firmly? If not, record it again"));
  CHECK_FALSE(warned(warnings_at("pump", takes), "gain"));
  takes.back().load["ac"] = "on";  // another load is no repeat
  CHECK_FALSE(warned(warnings_at("pan", takes), "gain"));
}
