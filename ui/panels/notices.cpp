#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {

namespace {

/// What one has above and below its words, in layout units.
constexpr float kAround = 12;

float words_height(const Frame& frame, const Notice& notice, float width) {
  const Fonts& fonts = frame.look.fonts;
  const float what = paragraph_height(fonts.strong, width, notice.what);
  if (notice.remedy.empty()) return what;
  return what + paragraph_height(fonts.body, width, "To do: " + notice.remedy);
}

void put_notice(Frame& frame, const Notice& notice, std::size_t index, bool first,
                const Area& area) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const bool done = notice.kind == Notice::Kind::note;
  const ImU32 colour = done                                   ? theme.good
                       : notice.kind == Notice::Kind::refusal ? theme.warn
                                                              : theme.bad;
  fill(area, theme.card, frame.u(10));
  outline(area, colour, frame.u(10), frame.u(1.6F));
  Area inner = area.inset(frame.u(16), 0);
  const float side = frame.u(kTouch);
  Area close = inner.take_right(side, frame.u(2));
  close.y += std::min(frame.u(kAround), (area.h - side) / 2);
  // A line alone stands in the middle.
  const float words = words_height(frame, notice, area.w - frame.u(154));
  inner.take_top(std::max(frame.u(4), (area.h - words) / 2));
  Area key = inner.take_right(frame.u(30), frame.u(6));
  key.h = line_height(fonts.strong);
  put_line(fonts.note, key, theme.quiet, first ? "Esc" : "", Side::right);
  const Area sign = inner.take_left(frame.u(24), frame.u(14));
  put_sign({sign.x, sign.y, sign.w, frame.u(24)}, done ? Sign::tick : Sign::warning, colour);
  inner.take_top(put_paragraph(fonts.strong, inner, theme.ink, notice.what));
  if (!notice.remedy.empty())
    put_paragraph(fonts.body, inner, theme.quiet, "To do: " + notice.remedy);
  if (button(frame, fmt::format("notice.close.{}", index), {close.x, close.y, side, side},
             {.label = "", .sign = Sign::cross, .look = ButtonLook::bare}))
    frame.wish(DismissNotice{index});
}

float notice_height(const Frame& frame, const Notice& notice, float width) {
  return std::max(words_height(frame, notice, width) + frame.u(2 * kAround), frame.u(kTouch + 4));
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
  const std::vector<std::size_t> turn = notices_in_turn(notices);
  for (std::size_t i = 0; i < shown; ++i) {
    const Notice& notice = notices[turn[i]];
    const float height = notice_height(frame, notice, view.w - frame.u(154));
    put_notice(frame, notice, turn[i], i == 0,
               view.take_top(std::min(height, view.h * 0.4F), frame.u(8)));
  }
  if (shown == notices.size()) return;
  put_line(frame.look.fonts.note, view.take_top(line_height(frame.look.fonts.note), frame.u(8)),
           frame.theme().quiet, fmt::format("{} more when this is closed", notices.size() - shown));
}

}  // namespace howl::desk
