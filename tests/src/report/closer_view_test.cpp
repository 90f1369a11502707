#include "src/report/closer_view.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

using namespace howl;

namespace {

SketchSpot spot(const std::string& name, double x, double y, const std::string& words = "loud") {
  return {name, words, {x, y}, 0.0};
}

/// A long vehicle from above, all that was recorded in its front.
SketchView long_vehicle() {
  return {.title = "Seen from above",
          .subtitle = "front at the top",
          .aspect = 0.4,
          .shapes = {{"body", {{0, 0}, {1, 0}, {1, 1}, {0, 1}}},
                     {"boot", {{0.1, 0.8}, {0.9, 0.8}, {0.9, 1}, {0.1, 1}}}},
          .spots = {spot("pump", 0.7, 0.1), spot("bracket", 0.3, 0.2), spot("axle", 0.5, 0.9, "")}};
}

/// In heights of the view that is drawn.
double distance(const SketchView& view, std::size_t a, std::size_t b) {
  const PlotPoint from = view.spots[a].at;
  const PlotPoint to = view.spots[b].at;
  return std::hypot((from.x - to.x) * view.aspect, from.y - to.y);
}

}  // namespace

TEST_CASE("the closer view enlarges evenly and stays within the view") {
  const SketchView far = long_vehicle();
  const SketchView near = closer_view(far, 1.5);
  REQUIRE(near.spots.size() == 2);  // the axle lies outside
  // The spots' height 0.1 and twice 0.1 of room: 0.3, at least 0.32 of the height is shown.
  const double enlarged = 1 / 0.32;
  CHECK(distance(near, 0, 1) == doctest::Approx(enlarged * distance(far, 0, 1)));
  CHECK(near.spots[0].at.y < near.spots[1].at.y);
  CHECK(near.spots[0].at.x > near.spots[1].at.x);
  // All of its width is 0.4 heights: less than 1.5 times 0.32, so that all of it is shown.
  CHECK(near.aspect == doctest::Approx(0.4 / 0.32));
  REQUIRE(near.shapes.size() == 1);  // the boot lies outside
  for (const PlotPoint& corner : near.shapes[0].corners) {
    CHECK(corner.x >= 0);
    CHECK(corner.x <= 1);
    CHECK(corner.y >= 0);
    CHECK(corner.y <= 1);
  }
  CHECK(near.subtitle == "front at the top; a part of it");
}

TEST_CASE("a slanted edge is cut where it leaves the view") {
  SketchView view = long_vehicle();
  view.shapes = {{"slant", {{0, 0}, {1, 0}, {0, 1}}}};
  const SketchView near = closer_view(view, 1.5);
  REQUIRE(near.shapes.size() == 1);
  // The lower edge of what is shown lies at 0.32: there the slant is at x = 0.68.
  const auto& corners = near.shapes[0].corners;
  REQUIRE(corners.size() == 4);
  CHECK(std::ranges::any_of(
      corners, [](const PlotPoint& p) { return std::abs(p.x - 0.68) < 1e-9 && p.y > 1 - 1e-9; }));
}

TEST_CASE("a view is left alone where its spots fill it, or where none has a name") {
  SketchView view = long_vehicle();
  view.spots.push_back(spot("wheel", 0.2, 0.95));
  CHECK(closer_view(view, 1.5).subtitle == view.subtitle);
  CHECK(closer_view(view, 1.5).spots.size() == view.spots.size());
  view.spots = {spot("axle", 0.5, 0.9, ""), spot("lost", std::nan(""), 0.5)};
  CHECK(closer_view(view, 1.5).spots.size() == 2);
}
