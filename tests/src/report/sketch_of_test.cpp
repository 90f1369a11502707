#include "src/report/sketch_of.h"

#include <doctest/doctest.h>

#include <algorithm>

using namespace howl;

namespace {

constexpr auto kFront = SketchPlace::View::front;
constexpr auto kBelow = SketchPlace::View::below;

RankedPoint ranked(const std::string& name, double below_db, double chance) {
  RankedPoint point;
  point.point = name;
  point.level_db = -40.0 - below_db;
  point.below_loudest_db = below_db;
  point.probability_loudest = chance;
  return point;
}

Profile a_profile() {
  Profile profile;
  profile.points = {{"pump", "", SketchPlace{kFront, 0.3, 0.4}},
                    {"pan", "", SketchPlace{kBelow, 0.6, 0.1}},
                    {"bracket", "", SketchPlace{kFront, 0.5, 0.5}}};
  profile.outlines = {{"engine", kFront, {{0.2, 0.3}, {0.6, 0.3}, {0.6, 0.7}}}};
  return profile;
}

const SketchView& view_titled(const SketchPicture& picture, const std::string& title) {
  return *std::ranges::find(picture.views, title, &SketchView::title);
}

}  // namespace

TEST_CASE("ranked points stand in their view, with level and chance; others there have no words") {
  Analysis analysis;
  analysis.ranking = {ranked("pump", 0.0, 0.97), ranked("pan", 6.25, 0.03)};
  const SketchPicture picture = sketch_of(Case{}, a_profile(), analysis);
  const SketchView& front = view_titled(picture, "Seen from the front");
  REQUIRE(front.spots.size() == 2);
  CHECK(front.spots[0].point == "pump");
  CHECK(front.spots[0].words == "loudest, chance 97 %");
  CHECK(front.spots[0].at.x == 0.3);
  CHECK(front.spots[1].point == "bracket");
  CHECK(front.spots[1].words.empty());
  CHECK_FALSE(front.spots[1].below_loudest_db);
  CHECK(front.shapes.size() == 1);
  const SketchView& below = view_titled(picture, "Seen from below");
  REQUIRE(below.spots.size() == 1);
  CHECK(below.spots[0].below_loudest_db == 6.25);
  CHECK(below.shapes.empty());
  CHECK(view_titled(picture, "Seen from above").spots.empty());
}

TEST_CASE("a point that has no place is listed with its level") {
  Analysis analysis;
  analysis.ranking = {ranked("pump", 0.0, 0.97), ranked("seat rail", 9.1, 0.001)};
  const SketchPicture picture = sketch_of(Case{}, a_profile(), analysis);
  REQUIRE(picture.notes.size() == 2);
  CHECK(picture.notes[0] ==
        "Without a place on the sketch: seat rail (9.1 dB below, chance <1 %).");
}

TEST_CASE("a level that is only a bound is never shown as the loudest") {
  Analysis analysis;
  analysis.ranking = {ranked("pump", 0.0, 0.9), ranked("pan", -2.0, 0.1),
                      ranked("bracket", 8.0, 0.0)};
  analysis.ranking[1].upper_bound = analysis.ranking[2].upper_bound = true;
  const SketchPicture picture = sketch_of(Case{}, a_profile(), analysis);
  const SketchSpot& pan = view_titled(picture, "Seen from below").spots.front();
  CHECK(pan.words == "level not known");
  CHECK_FALSE(pan.below_loudest_db);
  CHECK(view_titled(picture, "Seen from the front").spots[1].words == "at least 8.0 dB below");
}
