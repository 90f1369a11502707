#include <fmt/format.h>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

/// Howlpoint's mark: a probe point and the sound about it.
void put_mark(Frame& frame, ImVec2 centre, float radius) {
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const ImU32 accent = frame.theme().accent;
  list.AddCircleFilled(centre, radius * 0.26F, accent);
  for (const float part : {0.56F, 0.9F}) {
    list.PathArcTo(centre, radius * part, -1.0F, 1.0F, 20);
    list.PathStroke(faded(accent, 1.2F - part), ImDrawFlags_None, radius * 0.17F);
    list.PathArcTo(centre, radius * part, 2.14F, 4.14F, 20);
    list.PathStroke(faded(accent, 1.2F - part), ImDrawFlags_None, radius * 0.17F);
  }
}

void put_brand(Frame& frame, Area area) {
  const float radius = frame.u(14);
  put_mark(frame, {area.x + frame.u(30), area.y + area.h / 2}, radius);
  area.take_left(frame.u(56));
  put_line(frame.look.fonts.title, area, frame.theme().ink, "Howlpoint");
}

ImU32 state_colour(const Theme& theme, StepState state) {
  if (state == StepState::done) return theme.good;
  return state == StepState::look ? theme.warn : theme.quiet;
}

void put_state(Frame& frame, const Area& area, std::size_t number, StepState state, bool chosen) {
  const Theme& theme = frame.theme();
  const ImU32 colour = state_colour(theme, state);
  const ImVec2 middle = area.centre();
  const float radius = area.h / 2;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  if (state == StepState::open) {
    list.AddCircle(middle, radius - 1, chosen ? theme.accent : theme.rule, 0, frame.u(1.6F));
    put_line(frame.look.fonts.label, area, chosen ? theme.accent : theme.quiet,
             fmt::format("{}", number), Side::centre);
    return;
  }
  list.AddCircleFilled(middle, radius, faded(colour, 0.2F));
  put_sign(area.inset(radius * 0.42F), state == StepState::done ? Sign::tick : Sign::warning,
           colour);
}

/// Instead of the number or sign of 'Record', whatever is looked at.
void put_running(Frame& frame, const Area& area) {
  fill(area, frame.theme().bad, area.h / 2);
  put_sign(area.inset(area.h * 0.27F), Sign::record, frame.theme().card);
}

void put_step(Frame& frame, const Area& area, std::size_t index) {
  const Theme& theme = frame.theme();
  const Step step = kAllSteps.at(index);
  const StepStatus& status = frame.state.steps.at(index);
  const bool chosen = frame.state.view.step == step;
  const Touch touched = touch(frame, fmt::format("step.{}", step_key(step)), area);
  if (chosen)
    fill(area, theme.lit, frame.u(8));
  else if (touched.over)
    fill(area, faded(theme.raised, 0.6F), frame.u(8));
  if (chosen)
    fill({area.x, area.y + frame.u(9), frame.u(3.5F), area.h - frame.u(18)}, theme.accent,
         frame.u(2));
  Area inner = area.inset(frame.u(12), 0);
  const float round = frame.u(26);
  const Area sign = inner.take_left(round, frame.u(11));
  const Area disc{sign.x, sign.y + (sign.h - round) / 2, round, round};
  const std::string running = step == Step::record ? running_words(frame.state.record) : "";
  running.empty() ? put_state(frame, disc, index + 1, status.state, chosen)
                  : put_running(frame, disc);
  const float name = line_height(frame.look.fonts.strong);
  const float words = line_height(frame.look.fonts.note);
  inner.y += (inner.h - name - words) / 2;
  put_line(chosen ? frame.look.fonts.strong : frame.look.fonts.body, inner.take_top(name),
           theme.ink, step_name(step));
  const Area below = inner.take_top(words);
  put_line(frame.look.fonts.note, below, running.empty() ? theme.quiet : theme.bad,
           running.empty() ? status.words : running);
  if (!running.empty()) frame.targets.insert_or_assign("words.running", below);
  if (touched.pressed) frame.wish(GoTo{step});
}

void put_tools(Frame& frame, Area area) {
  const Settings& settings = frame.state.settings;
  const float width = area.w / 4;
  const auto next = [&] { return area.take_left(width).inset(frame.u(3), 0); };
  if (button(
          frame, "tool.theme", next(),
          {.label = "", .sign = settings.dark ? Sign::sun : Sign::moon, .look = ButtonLook::bare}))
    frame.wish(SetDark{!settings.dark});
  if (button(frame, "tool.smaller", next(), {.label = "A−", .look = ButtonLook::bare}))
    frame.wish(SetScale{next_scale(settings.scale, false)});
  if (button(frame, "tool.larger", next(), {.label = "A+", .look = ButtonLook::bare}))
    frame.wish(SetScale{next_scale(settings.scale, true)});
  if (button(frame, "tool.keys", next(), {.label = "?", .look = ButtonLook::bare}))
    frame.wish(ShowKeys{!frame.state.view.keys_shown});
}

}  // namespace

void draw_rail(Frame& frame, const Area& area) {
  const Theme& theme = frame.theme();
  fill(area, theme.card);
  hairline({area.right(), area.y}, {area.right(), area.bottom()}, faded(theme.rule, 0.7F));
  Area inner = area;
  put_brand(frame, inner.take_top(frame.u(64)));
  put_tools(frame, inner.take_bottom(frame.u(56)).inset(frame.u(8), frame.u(6)));
  if (frame.state.opened == nullptr) return;
  inner = inner.inset(frame.u(8), 0);
  const float room = inner.h / static_cast<float>(kSteps);
  const float height = std::min(room, frame.u(60));
  for (std::size_t i = 0; i < kSteps; ++i)
    put_step(frame, inner.take_top(height).inset(0, frame.u(1.5F)), i);
}

}  // namespace howl::desk
