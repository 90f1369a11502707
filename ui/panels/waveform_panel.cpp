#include <algorithm>
#include <cmath>

#include "ui/look/shapes.h"
#include "ui/look/widgets.h"
#include "ui/panels/sound_panels.h"
#include "ui/state/desk.h"
#include "ui/state/shown_sound.h"
#include "ui/state/sound_moves.h"

namespace howl::desk {
namespace {

double time_in(const Area& area, float x, double seconds) {
  const double share = static_cast<double>((x - area.x) / area.w);
  return std::clamp(share, 0.0, 1.0) * seconds;
}

void put_extents(Frame& frame, const Area& area, const TakeSound& sound) {
  const auto count = static_cast<std::size_t>(std::max(1.0F, area.w));
  const auto parts = sound.wave.parts(0, static_cast<double>(sound.wave.samples()), count);
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float middle = area.y + area.h / 2;
  const float half = area.h / 2 - frame.u(1);
  int loudest = 1;
  for (const Extent& part : parts)
    if (part.low <= part.high)
      loudest = std::max({loudest, static_cast<int>(part.high), -static_cast<int>(part.low)});
  const ImU32 colour = faded(frame.theme().series[2], 0.9F);
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (parts[i].low > parts[i].high) continue;
    const float x = area.x + static_cast<float>(i) + 0.5F;
    const auto y = [&](int value) {
      return middle - half * static_cast<float>(value) / static_cast<float>(loudest);
    };
    list.AddLine({x, y(parts[i].high) - 0.5F}, {x, y(parts[i].low) + 0.5F}, colour);
  }
}

/// Whether the mouse was pressed within the view's part of the overview, which then goes along with
/// it.
bool holds_view(const Frame& frame, double pressed_at) {
  bool* const holds = ImGui::GetStateStorage()->GetBoolRef(ImGui::GetID("overview holds view"));
  const auto& view = frame.state.view.sound.time_s;
  if (ImGui::IsMouseClicked(0)) *holds = view && view->contains(pressed_at);
  return *holds;
}

/// Pressing the overview centres the view there; dragging the view's part moves it along, dragging
/// over any other marks the stretch that is to be seen, and heard. While it plays, that goes on
/// from where it was pressed.
void act_on_overview(Frame& frame, const Area& area, const TakeSound& sound) {
  const Touch touched = touch_place(frame, "sound.overview", area);
  const ImGuiIO& io = ImGui::GetIO();
  const double pressed_at = time_in(area, io.MouseClickedPos[0].x, sound.seconds);
  const bool moves = holds_view(frame, pressed_at);
  if (!touched.held) return;
  const double now = time_in(area, io.MousePos.x, sound.seconds);
  SoundView view = frame.state.view.sound;
  if (!moves && std::abs(io.MousePos.x - io.MouseClickedPos[0].x) > frame.u(8)) {
    view.time_s = Interval{std::min(pressed_at, now), std::max(pressed_at, now)};
    if (view.time_s->width() < kShortestView) return;
    return frame.wish(SetSound{view});
  }
  if (frame.state.listen.playing) frame.wish(SeekSound{now});
  if (!view.time_s) return;
  const double half = 0.5 * view.time_s->width();
  view.time_s = kept_inside({now - half, now + half}, sound.seconds);
  frame.wish(SetSound{view});
}

}  // namespace

void put_waveform(Frame& frame, const Area& area, const TakeSound& sound) {
  act_on_overview(frame, area, sound);
  put_extents(frame, area, sound);
  const Interval shown = shown_time(frame.state, sound);
  const auto x = [&](double time) {
    return area.x + static_cast<float>(time / sound.seconds) * area.w;
  };
  const ImU32 veil = faded(frame.theme().card, 0.72F);
  fill({area.x, area.y, x(shown.low) - area.x, area.h}, veil);
  fill({x(shown.high), area.y, area.right() - x(shown.high), area.h}, veil);
  const Area window{x(shown.low), area.y, x(shown.high) - x(shown.low), area.h};
  outline(window, shown.width() < sound.seconds ? frame.theme().accent : frame.theme().rule,
          frame.u(3), frame.u(1.3F));
  if (const auto at = frame.state.listen.at_s)
    put_play_line(frame, area, x(*at));
  else if (const auto cursor = frame.state.view.sound.cursor_s)
    hairline({x(*cursor), area.y}, {x(*cursor), area.bottom()}, frame.theme().ink);
}

}  // namespace howl::desk
