#include "src/analysis/pitch_ratio.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

using namespace howl;

namespace {

ToneResult heard_at(const std::vector<std::pair<std::string, double>>& takes) {
  ToneResult tone;
  for (const auto& [take, hertz] : takes)
    tone.track.push_back({2.5, 1500.0, hertz, 0.02, take, -30.0});
  return tone;
}

}  // namespace

TEST_CASE("pitch ratio: moments that both tones share count, and one that is mixed up does not") {
  const ToneResult base = heard_at({{"t1", 100.0}, {"t2", 130.0}, {"t3", 150.0}, {"t4", 90.0}});
  const ToneResult twice = heard_at({{"t1", 200.02}, {"t2", 260.01}, {"t3", 301.5}, {"t9", 50.0}});
  const auto ratio = pitch_ratio(twice, base);
  REQUIRE(ratio);
  CHECK(ratio->value == doctest::Approx(2.0).epsilon(2e-4));
  CHECK(ratio->takes == 3);
  CHECK_FALSE(pitch_ratio(heard_at({{"t9", 200.0}}), base));
}

TEST_CASE("pitch ratio: a multiple lies within 0.2 % of a whole one") {
  const ToneResult base = heard_at({{"t1", 100.0}});
  CHECK(multiple_of(heard_at({{"t1", 200.3}}), base) == 2);
  CHECK(multiple_of(heard_at({{"t1", 299.5}}), base) == 3);
  CHECK_FALSE(multiple_of(heard_at({{"t1", 200.6}}), base));
  CHECK_FALSE(multiple_of(heard_at({{"t1", 100.0}}), base));
  CHECK_FALSE(multiple_of(heard_at({{"t1", 500.0}}), base));
}
