#pragma once

#include <imgui.h>

#include <span>
#include <vector>

#include "ui/look/area.h"

namespace howl::desk {

/// A dot on the vehicle.
struct SketchDot {
  ImVec2 at{};
  float radius{};
};
/// Where dots are drawn so that none covers the middle of another: those that lie too near are
/// moved apart, each by half of what is wanting, within the box.
std::vector<ImVec2> dots_apart(std::span<const SketchDot> dots, const Area& box);

}  // namespace howl::desk
