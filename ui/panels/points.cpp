#include <fmt/format.h>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

float put_point(Frame& frame, const ProbePoint& point, Area area, std::size_t takes) {
  const Theme& theme = frame.theme();
  const Fonts& fonts = frame.look.fonts;
  const float text = area.w - frame.u(62);
  const float height =
      line_height(fonts.body) + paragraph_height(fonts.note, text, point.description) + frame.u(14);
  area.h = height;
  const Touch touched = touch(frame, "point." + point.name, area);
  const bool lit = is_lit_point(frame, point.name);
  if (lit || touched.over) fill(area, lit ? theme.lit : faded(theme.raised, 0.5F), frame.u(6));
  Area inner = area.inset(frame.u(8), frame.u(6));
  const float round = frame.u(24);
  const Area sign = inner.take_left(round, frame.u(12));
  put_sign({sign.x, sign.y, round, round}, takes > 0 ? Sign::tick : Sign::circle,
           takes > 0 ? theme.good : theme.quiet);
  Area head = inner.take_top(line_height(fonts.body));
  if (takes > 0 && !is_answer_hidden(frame.state))
    put_line(fonts.note, head.take_right(frame.u(64)), theme.quiet,
             fmt::format("{} {}", takes, takes == 1 ? "take" : "takes"), Side::right);
  put_line(lit ? fonts.strong : fonts.body, head, theme.ink, point.name);
  put_paragraph(fonts.note, inner, theme.quiet, point.description);
  if (touched.pressed) frame.wish(PickPoint{point.name});
  return height + frame.u(3);
}

}  // namespace

void draw_points(Frame& frame, const Area& area) {
  const OpenedCase& opened = *frame.state.opened;
  Area rest = area;
  const Area left = rest.take_left(rest.w * 0.42F, frame.u(kGap));
  const Area list = card(frame, left, "Probe points", "touch housings only");
  scrolled(frame, "points", list, [&](Area& rows) {
    for (const ProbePoint& point : all_points(opened.value, opened.profile))
      rows.take_top(put_point(frame, point, rows, takes_at(opened.value, point.name)));
  });
  put_sketch(frame, card(frame, rest, "On the vehicle", "filled: recorded"), opened.plan);
}

}  // namespace howl::desk
