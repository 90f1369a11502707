#include "src/report/style.h"

namespace howl::picture {
namespace {

Colour polar(double lightness, double chroma, double hue) {
  return to_srgb(lab_from_polar(lightness, chroma, hue));
}

std::array<SeriesStyle, kMaxSeries> make_series_styles() {
  return {{{polar(24, 26, 262), Shape::disc, {}},
           {polar(52, 62, 50), Shape::square, {9, 3}},
           {polar(70, 34, 185), Shape::triangle, {2, 2.5}},
           {polar(36, 60, 335), Shape::diamond, {10, 3, 2, 3}},
           {polar(76, 62, 82), Shape::ring, {5, 3}},
           {polar(58, 4, 262), Shape::cross, {14, 3, 2, 3, 2, 3}}}};
}

}  // namespace

const Palette& palette() {
  static const Palette look{.paper = {1, 1, 1},
                            .ink = polar(15, 8, 262),
                            .quiet = polar(40, 6, 262),
                            .rule = polar(58, 4, 262),
                            .grid = polar(91, 2, 262),
                            .band = polar(46, 62, 45),
                            .shade = polar(94, 11, 60),
                            .unknown = polar(88, 2, 90)};
  return look;
}

const SeriesStyle& series_style(std::size_t index) {
  static const std::array<SeriesStyle, kMaxSeries> styles = make_series_styles();
  return styles.at(index);
}

std::vector<double> law_dash(std::string_view law) {
  if (law == "locked") return {};
  if (law == "belt") return {14, 4};
  if (law == "fixed") return {6, 4};
  if (law == "road") return {1.5, 3};
  return {9, 3, 1.5, 3};
}

}  // namespace howl::picture
