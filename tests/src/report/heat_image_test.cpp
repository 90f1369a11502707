#include "src/report/heat_image.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>

using namespace howl;
using namespace howl::picture;

namespace {

constexpr float kNanLevel = std::numeric_limits<float>::quiet_NaN();
const PlotAxis kUnit{"x", "", 0, 1, false};

Image image_of(const Heatmap& map, Size size, const PlotAxis& y = kUnit) {
  const Panel panel = panel_of({0, 0, size.width, size.height}, kUnit, y);
  return heat_image(map, panel, kUnit, y, 0, 60);
}

std::uint32_t pixel_at(double fraction) { return picture::pixel_of(level_colour(fraction)); }

}  // namespace

TEST_CASE("row 0 is at the bottom, column 0 at the left; coarse cells keep their edges") {
  const Image image = image_of({2, 2, {0, 60, 30, 60}}, {50, 50});
  REQUIRE(image.width == 100);
  REQUIRE(image.height == 100);
  CHECK(image.pixels[99 * 100] == pixel_at(0));                 // lower left
  CHECK(image.pixels[0] == pixel_at(1));                        // upper left
  CHECK(image.pixels[99 * 100 + 99] == pixel_at(128.0 / 255));  // lower right: 30 of 60 dB
  CHECK(image.pixels[99 * 100 + 49] == pixel_at(0));  // up to the middle between two cells
}

TEST_CASE("a line one cell thin shows on a map far finer than the page") {
  Heatmap map{1, 50000, std::vector<float>(50000, 0)};
  map.level_db[12345] = 60;
  const Image image = image_of(map, {1, 100});
  const auto loud = std::count(image.pixels.begin(), image.pixels.end(), pixel_at(1));
  CHECK(loud == 2);  // one pixel high, two wide
  // 12345 of 49999 up a page of 200 pixels: pixel 49 from below.
  CHECK(image.pixels[(199 - 49) * 2] == pixel_at(1));
}

TEST_CASE("unknown cells are transparent, silence and overload are the ends of the scale") {
  const float infinity = std::numeric_limits<float>::infinity();
  const Image image = image_of({3, 1, {kNanLevel, -infinity, infinity}}, {60, 1});
  CHECK(image.pixels[0] == 0);
  CHECK(image.pixels[60] == pixel_at(0));
  CHECK(image.pixels[119] == pixel_at(1));
}

TEST_CASE("on a logarithmic axis an evenly spaced grid lands at its frequencies") {
  Heatmap map{1, 1001, std::vector<float>(1001, 0)};  // 0 … 1000 Hz from 1 Hz on
  const PlotAxis y{"Frequency", "Hz", 1, 1001, true};
  map.level_db[99] = 60;  // 100 Hz: two thirds up three decades
  const Image image = image_of(map, {1, 150}, y);
  std::size_t from_below = 0;
  while (image.pixels[(299 - from_below) * 2] != pixel_at(1)) ++from_below;
  CHECK(std::abs(static_cast<double>(from_below) - 300 * std::log(100.0) / std::log(1001.0)) < 2);
}
