#include <fmt/format.h>

#include <array>
#include <filesystem>
#include <string_view>

#include "ui/look/flow.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr std::array<std::string_view, 3> kWelcome{
    "A case holds one complaint: its recordings, each with the probe point that it was made at and "
    "the engine's speed. Begin one, or drop recordings or the folder of a case on this window.",
    "The steps on the left then lead from the complaint to the report. What to do next always "
    "stands at the foot of the window.",
    "Without a vehicle: demo cases have recordings that were computed, and their faults are "
    "known."};

void put_recent(Frame& frame, const Area& area) {
  const auto& recent = frame.state.settings.recent;
  Area inner = card(frame, area, "Cases opened before");
  if (recent.empty()) return nothing_to_show(frame, inner, "None yet.");
  const float height = frame.u(56);
  scrolled(frame, "recent", inner, [&](Area& rows) {
    for (std::size_t i = 0; i < recent.size(); ++i) {
      const Area row = rows.take_top(height, frame.u(4));
      const Touch touched = touch(frame, fmt::format("recent.{}", i), row);
      if (touched.over) fill(row, frame.theme().raised, frame.u(8));
      Area words = row.inset(frame.u(12), frame.u(6));
      const std::filesystem::path folder(recent[i]);
      put_line(frame.look.fonts.strong, words.take_top(words.h / 2), frame.theme().ink,
               folder.filename().string());
      put_line(frame.look.fonts.note, words, frame.theme().quiet, folder.parent_path().string());
      if (touched.pressed) frame.wish(OpenCase{folder});
    }
  });
}

void put_how(Frame& frame, const Area& area) {
  const Theme& theme = frame.theme();
  Area inner = card(frame, area, "What howls, and where?");
  const float high = frame.u(52);
  Area foot = inner.take_bottom(2 * high + frame.u(Flow::kSpace), frame.u(12));
  const float wide = (foot.w - frame.u(Flow::kSpace)) / 2 - 1;
  Flow flow(frame, foot, high);
  const auto offer = [&](std::string_view name, const ButtonWords& words, Intention wish) {
    if (button(frame, name, flow.next_pixels(wide), words)) frame.wish(std::move(wish));
  };
  offer("case.new", {.label = "New case", .sign = Sign::plus, .look = ButtonLook::main},
        BeginSheet{.kind = SheetKind::new_case});
  offer("case.open", {.label = "Open", .sign = Sign::folder},
        BeginSheet{.kind = SheetKind::open_case});
  offer("quiz.start", {.label = "Quiz for a class"}, StartQuiz{});
  offer("demo.make", {.label = "Make demo cases"}, BeginSheet{.kind = SheetKind::demo_cases});
  scrolled(frame, "welcome", inner, [&](Area& rows) {
    for (const std::string_view text : kWelcome)
      rows.take_top(put_paragraph(frame.look.fonts.body, rows, theme.quiet, text), frame.u(12));
  });
}

}  // namespace

void draw_welcome(Frame& frame, const Area& area) {
  Area rest = area;
  if (!frame.state.opening.empty())
    return nothing_to_show(frame, area, "Opening " + frame.state.opening.string() + " …");
  const Area left = rest.take_left(rest.w * 0.46F, frame.u(kGap));
  put_how(frame, left);
  put_recent(frame, rest);
}

}  // namespace howl::desk
