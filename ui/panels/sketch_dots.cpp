#include "ui/panels/sketch_dots.h"

#include <algorithm>
#include <cmath>

namespace howl::desk {
namespace {

ImVec2 kept_in(const Area& box, ImVec2 at) {
  return {std::clamp(at.x, box.x, box.right()), std::clamp(at.y, box.y, box.bottom())};
}

/// Returns whether they had to be moved.
bool push_apart(ImVec2& a, ImVec2& b, float wanted) {
  constexpr float enough = 0.98F;
  ImVec2 way{b.x - a.x, b.y - a.y};
  float length = std::hypot(way.x, way.y);
  if (length >= enough * wanted) return false;
  if (length < 0.01F) {  // one on the other: the later goes below
    way = {0, 1};
    length = 1;
    b.y += 0.01F;
  }
  const float half = (wanted - std::hypot(b.x - a.x, b.y - a.y)) / 2;
  const ImVec2 step{way.x / length * half, way.y / length * half};
  a = {a.x - step.x, a.y - step.y};
  b = {b.x + step.x, b.y + step.y};
  return true;
}

}  // namespace

std::vector<ImVec2> dots_apart(std::span<const SketchDot> dots, const Area& box) {
  constexpr int most_rounds = 60;
  std::vector<ImVec2> places;
  for (const SketchDot& dot : dots) places.push_back(dot.at);
  bool moved = true;
  for (int round = 0; moved && round < most_rounds; ++round) {
    moved = false;
    for (std::size_t i = 0; i < dots.size(); ++i)
      for (std::size_t j = i + 1; j < dots.size(); ++j) {
        const float wanted = std::max(dots[i].radius, dots[j].radius);
        if (!push_apart(places[i], places[j], wanted)) continue;
        places[i] = kept_in(box, places[i]);
        places[j] = kept_in(box, places[j]);
        moved = true;
      }
  }
  return places;
}

}  // namespace howl::desk
