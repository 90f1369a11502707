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
  const Fonts& fonts = frame.look.fonts;
  const std::string& layout =
      opened.profile.title.empty() ? opened.value.profile : opened.profile.title;
  // The title, which stands whole under 'Complaint', gives way to the vehicle.
  const float title = line_height(fonts.note);
  const float vehicle = std::min(paragraph_height(fonts.note, area.w, layout), 2 * title);
  area.y += (area.h - title - vehicle) / 2;
  const auto put = [&](std::string_view name, ImFont* font, float height, std::string_view words) {
    const Area place = area.take_top(height);
    frame.targets.insert_or_assign(std::string(name), place);
    put_paragraph(font, place, frame.theme().quiet, words, Side::right);
  };
  put("words.title", fonts.label, title, opened.value.title);
  put("words.vehicle", fonts.note, vehicle, layout);
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
  Area right = rest.take_right(rest.w - asked - frame.u(34), frame.u(16));
  if (!frame.state.jobs.empty())
    put_job(frame, frame.state.jobs.front(), right.take_right(frame.u(420)));
  else if (frame.state.opened != nullptr)
    put_case_name(frame, right);
  if (frame.state.opened == nullptr) return;
  const Step step = frame.state.view.step;
  put_line(frame.look.fonts.title, rest, frame.theme().ink, step_asks(step));
}

}  // namespace howl::desk
