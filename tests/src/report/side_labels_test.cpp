#include "src/report/side_labels.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

using namespace howl::picture;

namespace {
constexpr SideColumns kColumns{.left = 0, .right = 100, .top = 0, .bottom = 100, .height = 20};
}

TEST_CASE("a label with room stands level with its point, on the point's side") {
  const std::vector<Point> points{{30, 40}, {70, 60}};
  const auto labels = side_labels(points, kColumns);
  REQUIRE(labels.size() == 2);
  CHECK(labels[0].side == Side::left);
  CHECK(labels[0].middle == 40);
  CHECK(labels[1].side == Side::right);
  CHECK(labels[1].middle == 60);
}

TEST_CASE("labels of points at one height stand a height apart and within the columns") {
  const std::vector<Point> points{{10, 95}, {20, 95}, {30, 95}};
  const auto labels = side_labels(points, kColumns);
  std::vector<double> middles;
  for (const SideLabel& label : labels) {
    CHECK(label.side == Side::left);
    middles.push_back(label.middle);
  }
  std::ranges::sort(middles);
  CHECK(middles == std::vector<double>{50, 70, 90});
}

TEST_CASE("a crowd of labels stands around its points") {
  const std::vector<Point> points{{10, 48}, {20, 50}, {30, 52}};
  const auto labels = side_labels(points, kColumns);
  // By least squares: 30, 50 and 70 miss by 18, 0 and 18; any shift adds to the squares.
  CHECK(labels[0].middle == doctest::Approx(30));
  CHECK(labels[1].middle == doctest::Approx(50));
  CHECK(labels[2].middle == doctest::Approx(70));
}

TEST_CASE("what a side cannot hold goes to the other") {
  std::vector<Point> points;
  for (int i = 0; i < 8; ++i) points.push_back({5.0 + i, 10.0 * i});
  const auto labels = side_labels(points, kColumns);
  // Five labels of 20 fill the 100 of the left column; the three rightmost points cross over.
  for (std::size_t i = 0; i < 8; ++i) CHECK((labels[i].side == Side::left) == (i < 5));
}

TEST_CASE("lines to labels do not cross") {
  // In the order of height, the line of (45, 50) would cross that of (5, 51).
  const std::vector<Point> points{{45, 50}, {5, 51}, {25, 50.5}, {40, 49}};
  const auto labels = side_labels(points, kColumns);
  const auto y_at = [&](std::size_t i, double x) {
    return labels[i].middle + (points[i].y - labels[i].middle) * x / points[i].x;
  };
  for (std::size_t i = 0; i < points.size(); ++i)
    for (std::size_t k = 0; k < i; ++k) {
      const double shared = std::min(points[i].x, points[k].x);
      CHECK((y_at(i, 0) - y_at(k, 0)) * (y_at(i, shared) - y_at(k, shared)) > 0);
    }
}
