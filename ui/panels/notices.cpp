#include <fmt/format.h>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {

namespace {

void put_notice(Frame& frame, const Notice& notice, std::size_t index, const Area& area) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const bool fault = notice.kind == Notice::Kind::fault;
  const ImU32 colour = fault ? theme.bad : theme.good;
  fill(area, theme.card, frame.u(10));
  outline(area, colour, frame.u(10), frame.u(1.6F));
  Area inner = area.inset(frame.u(16), frame.u(12));
  const float side = frame.u(kTouch);
  const Area close = inner.take_right(side, frame.u(8));
  const Area sign = inner.take_left(frame.u(24), frame.u(14));
  put_sign({sign.x, sign.y, sign.w, frame.u(24)}, fault ? Sign::warning : Sign::tick, colour);
  inner.take_top(put_paragraph(fonts.strong, inner, theme.ink, notice.what));
  if (!notice.remedy.empty())
    put_paragraph(fonts.body, inner, theme.quiet, "To do: " + notice.remedy);
  if (button(frame, fmt::format("notice.close.{}", index), {close.x, close.y, side, side},
             {.label = "", .sign = Sign::cross, .look = ButtonLook::bare}))
    frame.wish(DismissNotice{index});
}

float notice_height(const Frame& frame, const Notice& notice, float width) {
  const Fonts& fonts = frame.look.fonts;
  float height = frame.u(24) + paragraph_height(fonts.strong, width, notice.what);
  if (!notice.remedy.empty())
    height += paragraph_height(fonts.body, width, "To do: " + notice.remedy);
  return std::max(height, frame.u(68));
}

}  // namespace

void draw_notices(Frame& frame, const Area& view) {
  Area rest = view;
  for (std::size_t i = 0; i < frame.state.notices.size() && rest.h > frame.u(80); ++i) {
    const Notice& notice = frame.state.notices[i];
    const Area area =
        rest.take_top(notice_height(frame, notice, rest.w - frame.u(124)), frame.u(8));
    on_top(frame, fmt::format("notice.{}", i), area, [&] { put_notice(frame, notice, i, area); });
  }
}

}  // namespace howl::desk
