#include "ui/state/keys.h"

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {

namespace {

void put_key(Frame& frame, Area cell, const KeyHelp& key) {
  const Fonts& fonts = frame.look.fonts;
  put_line(fonts.strong, cell.take_left(frame.u(164), frame.u(8)), frame.theme().accent, key.key);
  put_line(fonts.body, cell, frame.theme().ink, key.does);
}

/// In two columns, the first half left.
void put_key_columns(Frame& frame, const Area& inner, float row) {
  const auto keys = key_list();
  const std::size_t rows = (keys.size() + 1) / 2;
  const float half = inner.w / 2;
  for (std::size_t i = 0; i < keys.size(); ++i)
    put_key(frame,
            {inner.x + (i < rows ? 0 : half), inner.y + row * static_cast<float>(i % rows),
             half - frame.u(14), row},
            keys[i]);
}

void put_key_list(Frame& frame, const Area& window) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const float width = std::min(window.w - frame.u(40), frame.u(920));
  const float around = frame.u(84);
  const float most = window.h - frame.u(16);
  const float line = line_height(fonts.body);
  const std::size_t pairs = (key_list().size() + 1) / 2;
  const auto rows = static_cast<float>(pairs);
  const float row = std::min(line + frame.u(5), (most - around) / rows);
  // Where two columns would not fit, one is scrolled.
  const bool one = row < line || width < frame.u(820);
  const float height = one ? most : row * rows + around;
  if (touch_place(frame, "keys.behind", window).pressed) frame.wish(ShowKeys{false});
  fill(window, faded(theme.ground, 0.72F));
  const Area area{window.x + (window.w - width) / 2, window.y + (window.h - height) / 2, width,
                  height};
  fill(area, theme.card, frame.u(12));
  outline(area, theme.rule, frame.u(12));
  const float side = frame.u(kTouch);
  if (button(frame, "keys.close",
             {area.right() - side - frame.u(8), area.y + frame.u(8), side, side},
             {.label = "", .sign = Sign::cross}))
    frame.wish(ShowKeys{false});
  Area inner = area.inset(frame.u(24), frame.u(20));
  put_line(fonts.title, inner.take_top(frame.u(30), frame.u(10)), theme.ink, "Keys");
  if (!one) return put_key_columns(frame, inner, row);
  scrolled(frame, "keys.list", inner, [&](Area& list) {
    for (const KeyHelp& key : key_list()) put_key(frame, list.take_top(line + frame.u(4)), key);
  });
}

}  // namespace

void draw_keys(Frame& frame, const Area& window) {
  if (!frame.state.view.keys_shown) return;
  on_top(frame, "keys", window, [&] { put_key_list(frame, window); });
}

}  // namespace howl::desk
