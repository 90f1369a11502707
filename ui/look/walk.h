#pragma once

#include <imgui.h>

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "ui/look/area.h"

namespace howl::desk {

/// From one thing that can be pressed or typed into to the next by keys, for hands that have no
/// mouse. What is drawn says anew in each frame what is in reach, in the order of drawing; what
/// lies under something else is not.
class Walk {
 public:
  void begin_frame();
  /// Something is drawn that can be reached.
  void pass(std::string_view name, const Area& area);
  /// What was drawn before lies under `area` from now on.
  void cover(const Area& area);
  /// After everything is drawn. Where what was reached has gone, nothing is.
  void end_frame();

  /// To the next one, or with -1 back; from nothing to the first, or the last.
  void step(int by);
  void press() { pressed_ = !reached_.empty(); }
  void leave();

  /// Whether the mouse is elsewhere than in the last frame.
  bool follow_mouse(ImVec2 at);

  const std::string& reached() const { return reached_; }
  bool is_reached(std::string_view name) const { return name == reached_; }
  bool moved() const { return arrived_; }  ///< since the last frame
  /// Whether it was reached since the last frame, so that it has to be brought to sight.
  bool arrived(std::string_view name) const { return arrived_ && is_reached(name); }
  /// Whether it was reached and is pressed; true once.
  bool take_press(std::string_view name);
  /// Where it lies, and what of the window can be drawn on there.
  struct Place {
    Area area;
    ImVec2 clip_from;
    ImVec2 clip_to;
  };
  const Place* place() const;

 private:
  struct Stop {
    std::string name;
    Place place;
  };
  std::vector<Stop> stops_;    ///< of the last whole frame
  std::vector<Stop> drawing_;  ///< of the frame that is drawn
  std::string reached_;
  ImVec2 mouse_{-1e9F, -1e9F};
  bool arrived_{};
  bool pressed_{};
};

/// What a key does to the walk: Tab and Shift+Tab go on and back, Enter and Space press what is
/// reached, Escape leaves it. False for a key that means nothing to it now.
bool walk_by_key(Walk& walk, std::string_view key);

/// The halo parts the ring from whatever lies around it.
struct RingColours {
  ImU32 ring{};
  ImU32 halo{};
};
/// Draws a ring about what is reached, over everything.
void draw_reached(const Walk& walk, const RingColours& colours, float unit);

}  // namespace howl::desk
