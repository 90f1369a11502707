#pragma once

#include <imgui.h>

#include <algorithm>

namespace howl::desk {

/// A rectangle of the window, in pixels, y downwards. The take_… functions cut a strip off an edge
/// and leave the rest, with `gap` between them lost; they never cut off more than there is.
struct Area {
  float x{};
  float y{};
  float w{};
  float h{};

  float right() const { return x + w; }
  float bottom() const { return y + h; }
  ImVec2 from() const { return {x, y}; }
  ImVec2 to() const { return {x + w, y + h}; }
  ImVec2 size() const { return {w, h}; }
  ImVec2 centre() const { return {x + w / 2, y + h / 2}; }
  bool contains(ImVec2 p) const { return x <= p.x && p.x < right() && y <= p.y && p.y < bottom(); }

  Area inset(float by) const { return inset(by, by); }
  Area inset(float across, float down) const {
    return {x + across, y + down, std::max(0.0F, w - 2 * across), std::max(0.0F, h - 2 * down)};
  }

  Area take_top(float height, float gap = 0) {
    const float cut = std::min(height, h);
    const Area strip{x, y, w, cut};
    const float lost = std::min(cut + gap, h);
    y += lost;
    h -= lost;
    return strip;
  }
  Area take_bottom(float height, float gap = 0) {
    const float cut = std::min(height, h);
    const Area strip{x, bottom() - cut, w, cut};
    h -= std::min(cut + gap, h);
    return strip;
  }
  Area take_left(float width, float gap = 0) {
    const float cut = std::min(width, w);
    const Area strip{x, y, cut, h};
    const float lost = std::min(cut + gap, w);
    x += lost;
    w -= lost;
    return strip;
  }
  Area take_right(float width, float gap = 0) {
    const float cut = std::min(width, w);
    const Area strip{right() - cut, y, cut, h};
    w -= std::min(cut + gap, w);
    return strip;
  }
};

}  // namespace howl::desk
