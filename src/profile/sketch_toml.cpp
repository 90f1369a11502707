#include "src/profile/sketch_toml.h"

#include <fmt/format.h>

#include <algorithm>

#include "src/files/toml_choice.h"

namespace howl {

namespace {

using View = SketchPlace::View;
using Corner = Outline::Corner;

constexpr Interval kSketch{0.0, 1.0};
constexpr Choices<View, 3> kViews{
    {{"below", View::below}, {"above", View::above}, {"front", View::front}}};

bool is_on_sketch(const Corner& corner) {
  return kSketch.contains(corner.x) && kSketch.contains(corner.y);
}

std::vector<Corner> box_corners(TomlReader& in) {
  const std::vector<double> box = in.numbers("box");
  if (box.size() != 4 || box[2] <= 0.0 || box[3] <= 0.0)
    in.fail("box", "is no [x, y, width, height]", "write four numbers, the last two above 0");
  const double right = box[0] + box[2];
  const double bottom = box[1] + box[3];
  return {{box[0], box[1]}, {right, box[1]}, {right, bottom}, {box[0], bottom}};
}

std::vector<Corner> polygon_corners(TomlReader& in) {
  std::vector<Corner> corners;
  for (const std::vector<double>& row : in.rows("polygon")) {
    if (row.size() != 2) in.fail("polygon", "is no list of [x, y]", "give two numbers a corner");
    corners.push_back({row[0], row[1]});
  }
  if (corners.size() < 3)
    in.fail("polygon", fmt::format("has {} corners", corners.size()), "give three or more");
  return corners;
}

Outline read_outline(TomlReader in) {
  Outline outline{in.text("label"), choice(in, "view", kViews), {}};
  if (in.has("box") == in.has("polygon"))
    in.fail("box", "or 'polygon' must be there, and not both", "keep one of them");
  const bool is_box = in.has("box");
  outline.corners = is_box ? box_corners(in) : polygon_corners(in);
  if (!std::ranges::all_of(outline.corners, is_on_sketch))
    in.fail(is_box ? "box" : "polygon", "reaches outside the sketch", "keep all within 0 to 1");
  in.finish();
  return outline;
}

}  // namespace

std::optional<SketchPlace> read_sketch_place(TomlReader& in) {
  if (!in.has("view") && !in.has("x") && !in.has("y")) return std::nullopt;
  return SketchPlace{choice(in, "view", kViews), in.number("x", kSketch), in.number("y", kSketch)};
}

std::vector<Outline> read_outlines(TomlReader& whole) {
  std::vector<Outline> outlines;
  for (const TomlReader& in : whole.tables("outline")) outlines.push_back(read_outline(in));
  return outlines;
}

}  // namespace howl
