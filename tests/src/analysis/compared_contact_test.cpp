#include <doctest/doctest.h>

#include <cstddef>
#include <string>
#include <vector>

#include "tests/src/repair_cases.h"

using namespace howl;

namespace {

/// The howl is gone, and is 4 dB weaker from point to point; the probe let go at some after.
RepairScene let_go_at(const std::vector<std::size_t>& points, int repeats, int let_go) {
  RepairScene scene = make_repair_scene(3, 1, {.howl_db = -200.0, .repeats = repeats});
  for (const std::size_t point : points) {
    int left = let_go;
    for (RepairScene::Take& take : scene.takes) {
      if (!take.after || take.point != point || left-- <= 0) continue;
      for (std::size_t n = 0; n < take.samples.size() / 2; ++n) take.samples[n] *= 0.001F;
    }
  }
  return scene;
}

bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

bool asks_for(const Comparison& comparison, const std::string& point) {
  for (const std::string& advice : comparison.record_next)
    if (says(advice, "after: " + point) && says(advice, "again, the probe pressed on firmly"))
      return true;
  return false;
}

}  // namespace

TEST_CASE("comparison: no howl is gone where the probe let go at its loudest point") {
  const Comparison c = test::compare(let_go_at({0}, 2, 2));
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::undetermined);
  CHECK(says(c.verdict, "Not proven that the howl"));
  CHECK(says(c.verdict, "point 1"));
  CHECK(says(c.verdict, "lost contact"));
  CHECK(asks_for(c, "point 1"));
  CHECK(!asks_for(c, "point 2"));
}

TEST_CASE("comparison: a point at which the probe let go is not settled, and is asked for again") {
  const Comparison c = test::compare(let_go_at({2}, 2, 2));
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::gone);
  CHECK(says(c.verdict, "Not settled at point 3"));
  CHECK(asks_for(c, "point 3"));
  for (const ComparedPlace& place : c.places) CHECK(place.trusted == (place.point != "point 3"));
}

TEST_CASE("comparison: another take at the point, held well, does for one that lost contact") {
  const Comparison c = test::compare(let_go_at({0}, 2, 1));
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::gone);
  CHECK(!says(c.verdict, "Not settled"));
  CHECK(c.record_next.empty());
  for (const ComparedPlace& place : c.places) {
    CHECK(place.trusted);
    CHECK(place.doubts.empty() == (place.point != "point 1"));
  }
}
