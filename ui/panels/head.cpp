#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <utility>
#include <vector>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/copies.h"
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

struct HeadTool {
  std::string_view name;
  std::string_view words;  ///< told beside the sign
  Sign sign{};
  bool possible{};
  Intention wish;
};

/// What is there in every step, from right to left; with little room only the first of them, the
/// keys do the rest.
std::vector<HeadTool> head_tools(const DeskState& state) {
  const bool answered = state.answer != nullptr;
  return {
      {"case.close", "Close the case, open another", Sign::folder, true, CloseCase{}},
      {"tool.class", "Before a class: one step at a time, the answer hidden", Sign::screen, true,
       SetClassMode{true}},
      {"tool.picture", "Save the picture of this step beside the case", Sign::picture,
       answered && picture_of_step(state.view).has_value(), SavePicture{}},
      {"tool.copy", "Copy the table of this step", Sign::copy, answered, CopyTable{}},
      {"tool.redo", "Make the change again", Sign::redo, !state.cases_after.empty(), Redo{}},
      {"tool.undo", "Take the last change of the case back", Sign::undo,
       !state.cases_before.empty(), Undo{}},
  };
}

void put_head_tools(Frame& frame, Area& area, float most) {
  const float side = frame.u(kTouch);
  std::vector<HeadTool> tools = head_tools(frame.state);
  // With little room there are keys for what is done least often.
  if (side * static_cast<float>(tools.size()) > most)
    std::erase_if(tools, [](const HeadTool& tool) { return tool.sign == Sign::redo; });
  while (side * static_cast<float>(tools.size()) > most) tools.pop_back();
  for (HeadTool& tool : tools) {
    const Area place = area.take_right(side);
    const Area square{place.x, place.y + (place.h - side) / 2, side, side};
    if (button(
            frame, tool.name, square,
            {.label = "", .sign = tool.sign, .look = ButtonLook::bare, .enabled = tool.possible}))
      frame.wish(std::move(tool.wish));
    tell_whole(frame.look.fonts.note, square, tool.words);
  }
}

}  // namespace

void draw_head(Frame& frame, const Area& area) {
  Area rest = area;
  if (frame.state.opened != nullptr) {
    put_head_tools(frame, rest, rest.w - frame.u(600));
    rest.take_right(frame.u(10));
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
