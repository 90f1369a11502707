#include "src/report/curve.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "dsp/statistics.h"

using namespace howl;
using namespace howl::picture;

namespace {

const Panel kPanel = panel_of({0, 0, 100, 100}, {"x", "", 0, 10, false}, {"y", "", 0, 10, false});

}  // namespace

TEST_CASE("a segment is cut at the box, or gone") {
  const Box box{0, 0, 10, 10};
  const auto part = clipped({{-5, 5}, {15, 5}}, box);
  REQUIRE(part);
  CHECK(part->from.x == doctest::Approx(0));
  CHECK(part->to.x == doctest::Approx(10));
  CHECK_FALSE(clipped({{-5, 0}, {0, 20}}, box));
  CHECK_FALSE(clipped({{11, -5}, {11, 15}}, box));
}

TEST_CASE("what is not a number breaks a curve; what lies outside is cut off") {
  const std::vector<PlotPoint> points{{-5, 5}, {2, 5},     {3, std::nan("")},
                                      {4, 5},  {5, 1e300}, {6, 5}};
  const auto pieces = visible_pieces(points, kPanel);
  REQUIRE(pieces.size() == 3);
  for (const auto& piece : pieces) {
    for (const Point& p : piece) CHECK(kPanel.box.grown(1e-6).contains(p));
  }
  CHECK(pieces[0].front().x == doctest::Approx(0));
}

TEST_CASE("a single point, or nothing, has no pieces") {
  CHECK(visible_pieces({}, kPanel).empty());
  CHECK(visible_pieces(std::vector<PlotPoint>{{1, 1}}, kPanel).empty());
}

TEST_CASE("thinning a dense curve keeps the thinnest peak and the ends") {
  std::vector<PlotPoint> points;
  for (int i = 0; i <= 100000; ++i) points.push_back({i * 1e-4, i == 43210 ? 9.0 : 1.0});
  const auto pieces = visible_pieces(points, kPanel);
  REQUIRE(pieces.size() == 1);
  CHECK(pieces[0].size() <= 4 * 201);
  const auto peak = std::min_element(pieces[0].begin(), pieces[0].end(),
                                     [](Point a, Point b) { return a.y < b.y; });
  CHECK(peak->y == doctest::Approx(10));
  CHECK(peak->x == doctest::Approx(43.21));
  CHECK(pieces[0].front().x == doctest::Approx(0));
  CHECK(pieces[0].back().x == doctest::Approx(100));
  CHECK(std::is_sorted(pieces[0].begin(), pieces[0].end(),
                       [](Point a, Point b) { return a.x < b.x; }));
}
