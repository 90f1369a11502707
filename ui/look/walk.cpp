#include "ui/look/walk.h"

#include <algorithm>
#include <utility>

namespace howl::desk {

void Walk::begin_frame() { drawing_.clear(); }

void Walk::pass(std::string_view name, const Area& area) {
  if (area.w <= 0 || area.h <= 0) return;
  const ImDrawList& list = *ImGui::GetWindowDrawList();
  drawing_.push_back({std::string(name), {area, list.GetClipRectMin(), list.GetClipRectMax()}});
}

void Walk::cover(const Area& area) {
  std::erase_if(drawing_, [&](const Stop& stop) {
    const ImVec2 at = stop.place.area.centre();
    return at.x >= area.x && at.x < area.right() && at.y >= area.y && at.y < area.bottom();
  });
}

void Walk::end_frame() {
  stops_ = std::exchange(drawing_, {});
  arrived_ = false;
  pressed_ = false;
  if (place() == nullptr) reached_.clear();
}

void Walk::step(int by) {
  if (stops_.empty()) return;
  const auto at = std::ranges::find(stops_, reached_, &Stop::name);
  const auto count = static_cast<std::ptrdiff_t>(stops_.size());
  const std::ptrdiff_t from = at == stops_.end() ? (by > 0 ? -1 : 0) : at - stops_.begin();
  reached_ = stops_[static_cast<std::size_t>((from + by + count) % count)].name;
  arrived_ = true;
}

void Walk::leave() {
  reached_.clear();
  pressed_ = false;
}

bool Walk::follow_mouse(ImVec2 at) {
  const ImVec2 before = std::exchange(mouse_, at);
  return before.x != at.x || before.y != at.y;
}

bool Walk::take_press(std::string_view name) {
  return is_reached(name) && std::exchange(pressed_, false);
}

const Walk::Place* Walk::place() const {
  const auto at = std::ranges::find(stops_, reached_, &Stop::name);
  return at == stops_.end() ? nullptr : &at->place;
}

bool walk_by_key(Walk& walk, std::string_view key) {
  if (key == "Tab" || key == "Shift+Tab") {
    walk.step(key == "Tab" ? 1 : -1);
    return true;
  }
  if (walk.reached().empty()) return false;
  if (key == "Enter" || key == "Space") {
    walk.press();
    return true;
  }
  if (key != "Escape") return false;
  walk.leave();
  return true;
}

void draw_reached(const Walk& walk, const RingColours& colours, float unit) {
  const Walk::Place* const place = walk.place();
  if (place == nullptr) return;
  ImDrawList& list = *ImGui::GetForegroundDrawList();
  const float out = 3 * unit;
  const float most = out + 4 * unit;
  list.PushClipRect({place->clip_from.x - most, place->clip_from.y - most},
                    {place->clip_to.x + most, place->clip_to.y + most});
  const Area& area = place->area;
  const auto ring = [&](ImU32 colour, float thickness) {
    list.AddRect({area.x - out, area.y - out}, {area.right() + out, area.bottom() + out}, colour,
                 8 * unit, 0, thickness * unit);
  };
  ring(colours.halo, 6);
  ring(colours.ring, 2.5F);
  list.PopClipRect();
}

}  // namespace howl::desk
