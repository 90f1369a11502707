#pragma once

#include <imgui.h>

#include <map>
#include <string>
#include <string_view>

#include "ui/look/area.h"
#include "ui/look/fonts.h"
#include "ui/look/theme.h"
#include "ui/look/walk.h"
#include "ui/state/intentions.h"

namespace howl::desk {

struct DeskState;
class SoundStore;

/// How everything looks at the moment.
struct Look {
  Theme theme;
  Fonts fonts;
  float unit{1};  ///< pixels a layout unit
};

/// Where things that can be pressed were drawn last, by name, for keys, scripts and tests; and a
/// few words that tests look for, as "words.…".
using Targets = std::map<std::string, Area, std::less<>>;

/// What a panel draws with: it reads the state, and says what somebody wished.
struct Frame {
  const DeskState& state;
  const SoundStore& sounds;
  const Look& look;
  Intentions& wishes;
  Targets& targets;
  Walk& walk;
  double seconds{};    ///< since the window opened, for what moves
  bool mouse_moved{};  ///< since the last frame; one that lies still leaves plots to the keys

  float u(float units) const { return units * look.unit; }
  const Theme& theme() const { return look.theme; }
  void wish(Intention intention) { wishes.push_back(std::move(intention)); }
};

/// Smallest side of what a gloved hand has to hit, in layout units.
inline constexpr float kTouch = 44;
inline constexpr float kGap = 12;
inline constexpr float kPad = 16;

}  // namespace howl::desk
