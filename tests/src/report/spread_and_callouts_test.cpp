#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "dsp/statistics.h"
#include "src/report/callouts.h"
#include "src/report/spread.h"

using namespace howl;
using namespace howl::picture;

TEST_CASE("labels with room stay where they belong") {
  const std::vector<SpreadLabel> labels{{100, 10}, {50, 10}, {150, 10}};
  const auto centres = spread(labels, {0, 200, 2, 40});
  CHECK(centres[0] == doctest::Approx(100));
  CHECK(centres[1] == doctest::Approx(50));
  CHECK(centres[2] == doctest::Approx(150));
}

TEST_CASE("two labels at one place share the shift") {
  // 10 long and 2 apart: centres 12 apart, each 6 from where it belongs.
  const auto centres = spread(std::vector<SpreadLabel>{{100, 10}, {100, 10}}, {0, 200, 2, 40});
  CHECK(centres[0] == doctest::Approx(94));
  CHECK(centres[1] == doctest::Approx(106));
}

TEST_CASE("a crowd loses its least important labels, and nobody else does") {
  std::vector<SpreadLabel> labels{{10, 10}};
  for (int i = 0; i < 9; ++i) labels.push_back({100, 10});
  const auto centres = spread(labels, {0, 200, 2, 25});
  CHECK(centres[0] == doctest::Approx(10));
  // Centres 12 apart within ±25 of 100: five labels at −24 … 24.
  CHECK(std::count_if(centres.begin(), centres.end(), [](auto c) { return c.has_value(); }) == 6);
  for (std::size_t i = 1; i <= 5; ++i) CHECK(centres[i]);
}

TEST_CASE("spread labels never overlap, never leave, never stray too far") {
  Random random(4);
  for (int round = 0; round < 1000; ++round) {
    const SpreadParameters room{20, 320, 3, 60};
    std::vector<SpreadLabel> labels(1 + draw_index(random, 30));
    for (SpreadLabel& label : labels) {
      label = {20 + 300 * draw_uniform(random), 8 + 40 * draw_uniform(random)};
    }
    const auto centres = spread(labels, room);
    for (std::size_t i = 0; i < labels.size(); ++i) {
      if (!centres[i]) continue;
      CHECK(*centres[i] - labels[i].length / 2 >= room.low - 1e-6);
      CHECK(*centres[i] + labels[i].length / 2 <= room.high + 1e-6);
      CHECK(std::abs(*centres[i] - labels[i].wanted) <= room.farthest + 1e-6);
      for (std::size_t k = 0; k < i; ++k) {
        if (!centres[k]) continue;
        const double least = (labels[i].length + labels[k].length) / 2 + room.gap;
        CHECK(std::abs(*centres[i] - *centres[k]) >= least - 1e-6);
      }
    }
  }
}

TEST_CASE("no labels, or no room, is no trouble") {
  CHECK(spread({}, {0, 100, 2, 10}).empty());
  CHECK_FALSE(spread(std::vector<SpreadLabel>{{5, 30}}, {0, 10, 2, 10})[0]);
}

TEST_CASE("callouts never overlap, and no leader runs through a label") {
  Random random(5);
  const Box area{0, 0, 600, 300};
  for (int round = 0; round < 40; ++round) {
    std::vector<Callout> callouts(1 + draw_index(random, 12));
    for (Callout& callout : callouts) {
      callout = {{600 * draw_uniform(random), 300 * draw_uniform(random)},
                 {40 + 80 * draw_uniform(random), 15}};
    }
    const std::vector<Box> obstacles{{200, 20, 90, 16}};
    const auto placed = place_callouts(callouts, area, obstacles, {});
    REQUIRE(placed.size() == callouts.size());
    for (std::size_t i = 0; i < placed.size(); ++i) {
      if (!placed[i]) continue;
      CHECK(area.contains(placed[i]->box));
      CHECK_FALSE(placed[i]->box.overlaps(obstacles[0]));
      for (std::size_t k = 0; k < placed.size(); ++k) {
        CHECK_FALSE(placed[i]->box.contains(callouts[k].at));
        if (k == i || !placed[k]) continue;
        CHECK_FALSE(placed[i]->box.overlaps(placed[k]->box));
        CHECK_FALSE(clipped(placed[k]->leader, placed[i]->box));
      }
    }
  }
}

TEST_CASE("a lone callout stands above its point; a crowd of five in a row all find room") {
  const Box area{0, 0, 600, 300};
  const auto lone = place_callouts(std::vector<Callout>{{{300, 200}, {80, 15}}}, area, {}, {});
  REQUIRE(lone[0]);
  CHECK(lone[0]->box.bottom() < 200);
  CHECK(lone[0]->box.centre().x == doctest::Approx(300));
  std::vector<Callout> crowd;
  for (int i = 0; i < 5; ++i) crowd.push_back({{60.0 + 18 * i, 150}, {110, 15}});
  for (const auto& place : place_callouts(crowd, area, {}, {})) CHECK(place);
}
