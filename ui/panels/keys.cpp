#include "ui/state/keys.h"

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {

namespace {

void put_key_list(Frame& frame, const Area& window) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const auto keys = key_list();
  const std::size_t pairs = (keys.size() + 1) / 2;
  const auto rows = static_cast<float>(pairs);
  const float width = std::min(window.w - frame.u(60), frame.u(860));
  const float around = frame.u(84);
  const float most = window.h - frame.u(16);
  const float row = std::min(line_height(fonts.body) + frame.u(5), (most - around) / rows);
  const float height = row * rows + around;
  if (touch_place(frame, "keys.behind", window).pressed) frame.wish(ShowKeys{false});
  fill(window, faded(theme.ground, 0.72F));
  const Area area{window.x + (window.w - width) / 2, window.y + (window.h - height) / 2, width,
                  height};
  fill(area, theme.card, frame.u(12));
  outline(area, theme.rule, frame.u(12));
  Area inner = area.inset(frame.u(24), frame.u(20));
  put_line(fonts.title, inner.take_top(frame.u(30), frame.u(10)), theme.ink, "Keys");
  for (std::size_t i = 0; i < keys.size(); ++i) {
    const bool left = i < static_cast<std::size_t>(rows);
    const float half = inner.w / 2;
    const auto line = static_cast<float>(left ? i : i - static_cast<std::size_t>(rows));
    Area cell{inner.x + (left ? 0 : half), inner.y + row * line, half - frame.u(14), row};
    put_line(fonts.strong, cell.take_left(frame.u(148), frame.u(8)), theme.accent, keys[i].key);
    put_line(fonts.body, cell, theme.ink, keys[i].does);
  }
}

}  // namespace

void draw_keys(Frame& frame, const Area& window) {
  if (!frame.state.view.keys_shown) return;
  on_top(frame, "keys", window, [&] { put_key_list(frame, window); });
}

}  // namespace howl::desk
