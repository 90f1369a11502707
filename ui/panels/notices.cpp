#include <fmt/format.h>

#include <algorithm>
#include <vector>

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
  const Area close = inner.take_right(side, frame.u(2));
  put_line(fonts.note, inner.take_right(frame.u(30), frame.u(6)), theme.quiet,
           index == 0 ? "Esc" : "", Side::right);
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

/// They take a strip off the top of the view, so that they cover nothing. What needs no answer goes
/// by itself.
void put_notices(Frame& frame, Area& view) {
  const std::vector<Notice>& notices = frame.state.notices;
  if (notices.empty()) return;
  if (notices_age(notices, frame.seconds)) frame.wish(AgeNotices{frame.seconds});
  const std::size_t most = view.h > frame.u(420) ? 2 : 1;
  const std::size_t shown = std::min(most, notices.size());
  for (std::size_t i = 0; i < shown; ++i) {
    const float height = notice_height(frame, notices[i], view.w - frame.u(154));
    put_notice(frame, notices[i], i, view.take_top(std::min(height, view.h * 0.4F), frame.u(8)));
  }
  if (shown == notices.size()) return;
  put_line(frame.look.fonts.note, view.take_top(line_height(frame.look.fonts.note), frame.u(8)),
           frame.theme().quiet, fmt::format("{} more when this is closed", notices.size() - shown));
}

}  // namespace howl::desk
