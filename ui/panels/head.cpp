#include <fmt/format.h>

#include <algorithm>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

void put_job(Frame& frame, const JobStatus& job, Area area) {
  const Theme& theme = frame.theme();
  const float side = frame.u(kTouch);
  const Area stop = area.take_right(side, frame.u(6));
  if (button(frame, "job.cancel", {stop.x, stop.y + (stop.h - side) / 2, side, side},
             {.label = "", .sign = Sign::cross, .look = ButtonLook::bare}))
    frame.wish(CancelJob{job.id});
  const float words = line_height(frame.look.fonts.note);
  area.y += (area.h - words - frame.u(10)) / 2;
  put_line(
      frame.look.fonts.note, area.take_top(words, frame.u(4)), theme.quiet,
      fmt::format("{} … {:.0f} %", job.stage.empty() ? job.title : job.stage, 100.0 * job.fraction),
      Side::right);
  put_meter(area.take_top(frame.u(5)), static_cast<float>(job.fraction), theme.accent,
            theme.raised);
}

void put_case_name(Frame& frame, Area area) {
  const OpenedCase& opened = *frame.state.opened;
  const float line = line_height(frame.look.fonts.note);
  area.y += (area.h - 2 * line) / 2;
  put_line(frame.look.fonts.label, area.take_top(line), frame.theme().quiet, opened.value.title,
           Side::right);
  put_line(frame.look.fonts.note, area.take_top(line), frame.theme().quiet,
           opened.profile.title.empty() ? opened.value.profile : opened.profile.title, Side::right);
}

}  // namespace

void draw_head(Frame& frame, const Area& area) {
  Area rest = area;
  const float side = frame.u(kTouch);
  if (frame.state.opened != nullptr) {
    const Area open = rest.take_right(side, frame.u(10));
    if (button(frame, "case.close", {open.x, open.y + (open.h - side) / 2, side, side},
               {.label = "", .sign = Sign::folder, .look = ButtonLook::bare}))
      frame.wish(CloseCase{});
  }
  const float asked = frame.state.opened == nullptr
                          ? 0
                          : text_width(frame.look.fonts.title, step_asks(frame.state.view.step));
  const Area right =
      rest.take_right(std::min(rest.w * 0.54F, rest.w - asked - frame.u(18)), frame.u(16));
  if (!frame.state.jobs.empty())
    put_job(frame, frame.state.jobs.front(), right);
  else if (frame.state.opened != nullptr)
    put_case_name(frame, right);
  if (frame.state.opened == nullptr) return;
  const Step step = frame.state.view.step;
  put_line(frame.look.fonts.title, rest, frame.theme().ink, step_asks(step));
}

}  // namespace howl::desk
