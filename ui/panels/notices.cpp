#include <fmt/format.h>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {

void draw_notices(Frame& frame, const Area& view) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  Area rest = view;
  for (std::size_t i = 0; i < frame.state.notices.size() && rest.h > frame.u(80); ++i) {
    const Notice& notice = frame.state.notices[i];
    const float width = rest.w - frame.u(120);
    const std::string remedy = notice.remedy.empty() ? "" : "To do: " + notice.remedy;
    const float height = frame.u(24) + paragraph_height(fonts.strong, width, notice.what) +
                         (remedy.empty() ? 0 : paragraph_height(fonts.body, width, remedy));
    const Area area = rest.take_top(std::max(height, frame.u(68)), frame.u(8));
    const ImU32 colour = notice.kind == Notice::Kind::fault ? theme.bad : theme.good;
    fill(area, theme.card, frame.u(10));
    outline(area, colour, frame.u(10), frame.u(1.6F));
    Area inner = area.inset(frame.u(16), frame.u(12));
    const float side = frame.u(kTouch);
    const Area close = inner.take_right(side, frame.u(8));
    const Area sign = inner.take_left(frame.u(24), frame.u(14));
    put_sign({sign.x, sign.y, sign.w, frame.u(24)},
             notice.kind == Notice::Kind::fault ? Sign::warning : Sign::tick, colour);
    inner.take_top(put_paragraph(fonts.strong, inner, theme.ink, notice.what));
    if (!remedy.empty()) put_paragraph(fonts.body, inner, theme.quiet, remedy);
    if (button(frame, fmt::format("notice.close.{}", i), {close.x, close.y, side, side},
               {.label = "", .sign = Sign::cross, .look = ButtonLook::bare}))
      frame.wish(DismissNotice{i});
  }
}

}  // namespace howl::desk
