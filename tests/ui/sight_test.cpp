#include <doctest/doctest.h>

#include <cmath>

#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

TEST_CASE("a take that is picked comes into sight, and can be scrolled out again") {
  const bench::Workshop workshop;
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  bench::Stage stage(desk, 1280, 320);  // room for fewer rows than there are takes
  desk.apply(GoTo{Step::record});
  desk.apply(PickTake{"t01"});
  stage.frames(3);
  const float first = stage.area_of("takes.t01").y;
  const float bottom = stage.area_of("next.how").y;
  for (const char* id : {"t04", "t01"}) {
    desk.apply(PickTake{id});
    stage.frames(3);
    const Area& row = stage.area_of(std::string("takes.") + id);
    CHECK(row.y >= first - 1);
    CHECK(row.bottom() <= bottom);
    // Rows are 34 units high, and none is cut through at the top.
    CHECK(std::abs(std::remainder(row.y - first, 34.0F)) < 1);
  }
  desk.apply(PickTake{"t04"});
  stage.frames(3);
  const float there = stage.area_of("takes.t04").y;
  stage.turn_wheel(stage.area_of("takes.t04").centre(), 10);
  stage.frames(3);
  CHECK(stage.area_of("takes.t04").y >= there);  // it stays where the hand scrolled it
}
