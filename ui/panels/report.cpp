#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <string>

#include "src/report/warning_words.h"
#include "ui/look/flow.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

void put_answer(Frame& frame, const Area& area) {
  const Answer& answer = *frame.state.answer;
  const Area inner = card(frame, area, "What it comes to");
  scrolled(frame, "report.answer", inner, [&](Area& rows) {
    const auto say = [&](std::string_view question, const std::string& text) {
      if (text.empty()) return;
      put_line(frame.look.fonts.label, rows.take_top(line_height(frame.look.fonts.note)),
               frame.theme().accent, question);
      rows.take_top(put_paragraph(frame.look.fonts.body, rows, frame.theme().ink, text),
                    frame.u(14));
    };
    if (const auto& comparison = frame.state.before_after.comparison)
      say("Before and after", comparison->verdict);
    else if (!frame.state.before_after.folder.empty())
      say("Before and after",
          "The report compares with " + frame.state.before_after.folder.filename().string() + ".");
    say("What howls", answer.finding.what);
    say("Where it is loudest", answer.finding.where);
    say("Which part", as_in_sheet(answer.analysis.verdict.conclusion));
    for (const std::string& text : answer.analysis.verdict.whatever_howls)
      say("Found in the workshop", text);
    for (const std::string& text : answer.analysis.verdict.contradictions)
      say("What does not fit", text);
    for (const std::string& text : warnings_of_case(answer.analysis))
      say("Warning", as_in_sheet(text));
  });
}

void put_cautions(Frame& frame, const Area& area) {
  const Analysis& analysis = *frame.state.analysis();
  const Area inner = card(frame, area, "Cautions");
  scrolled(frame, "report.cautions", inner, [&](Area& rows) {
    for (const std::string& text : analysis.cautions) {
      Area row = rows;
      const float side = frame.u(18);
      const Area sign = row.take_left(side, frame.u(10));
      put_sign({sign.x, sign.y + frame.u(2), side, side}, Sign::warning, frame.theme().warn);
      rows.take_top(put_paragraph(frame.look.fonts.body, row, frame.theme().ink, text),
                    frame.u(10));
    }
  });
}

/// Whether it is being written.
bool is_on_way(const Frame& frame, HandOver what) {
  const std::string title = "Writing: " + std::string(hand_over_name(what));
  return std::ranges::any_of(frame.state.jobs,
                             [&](const JobStatus& job) { return job.title == title; });
}

void put_written(Frame& frame, const std::filesystem::path& file, Area& rows) {
  const Fonts& fonts = frame.look.fonts;
  Area row = rows;
  const ButtonWords show{.label = "Show"};
  const Area place = row.take_right(button_width(frame, show), frame.u(10));
  if (button(frame, "written." + file.filename().string(),
             {place.x, place.y, place.w, frame.u(kTouch)}, show))
    frame.wish(ShowFile{file});
  float used = put_paragraph(fonts.body, row, frame.theme().ink, file.filename().string());
  row.take_top(used);
  used += put_paragraph(fonts.note, row, frame.theme().quiet, "in " + file.parent_path().string());
  rows.take_top(std::max(used, frame.u(kTouch)), frame.u(8));
}

void put_hand_over(Frame& frame, const Area& area) {
  const HandOverState& state = frame.state.hand_over;
  Area inner = card(frame, area, "Hand it over", "beside the case's folder");
  Area row = inner.take_top(frame.u(kTouch), frame.u(8));
  constexpr std::array<std::string_view, 2> papers{"A4", "Letter"};
  if (const auto chosen = choice(frame, "paper", row.take_right(frame.u(132), frame.u(8)), papers,
                                 state.paper == document::Paper::letter ? 1 : 0))
    frame.wish(SetPaper{*chosen == 1 ? document::Paper::letter : document::Paper::a4});
  put_line(frame.look.fonts.note, row, frame.theme().quiet, "paper of the PDF", Side::right);
  Flow flow(frame, inner, frame.u(kTouch));
  for (const HandOver what : {HandOver::pdf, HandOver::html, HandOver::tables, HandOver::packed}) {
    const bool first = what == HandOver::pdf;
    const ButtonWords words{.label = hand_over_name(what),
                            .look = first ? ButtonLook::main : ButtonLook::plain,
                            .enabled = !is_on_way(frame, what)};
    if (button(frame, fmt::format("write.{}", static_cast<int>(what)),
               flow.next_pixels(button_width(frame, words)), words))
      frame.wish(WriteOut{what});
  }
  inner.take_top(flow.bottom() - inner.y, frame.u(12));
  if (state.written.empty()) {
    constexpr std::string_view text =
        "The PDF is for paper, the HTML file has the suspect tone to listen to. Tables and "
        "pictures are for other programs; a packed case holds the recordings too.";
    scrolled(frame, "handed", inner, [&](Area& rows) {
      rows.take_top(put_paragraph(frame.look.fonts.note, rows, frame.theme().quiet, text));
    });
    return;
  }
  scrolled(frame, "written", inner, [&](Area& rows) {
    for (const std::filesystem::path& file : state.written) put_written(frame, file, rows);
  });
}

}  // namespace

void draw_report(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  Area rest = area;
  constexpr float low = 350;
  if (area.h < frame.u(low)) {
    constexpr std::array<std::string_view, 3> names{"What it comes to", "Hand it over", "Cautions"};
    const std::size_t shown = put_parts_in_turn(frame, rest, names);
    if (shown == 0) return put_answer(frame, rest);
    if (shown == 1) return put_hand_over(frame, rest);
    return put_cautions(frame, rest);
  }
  put_answer(frame, rest.take_left(rest.w * 0.52F, frame.u(kGap)));
  // Cautions scroll; what is said of the files is read before one is written.
  const float needed = std::min(frame.u(272), rest.h - frame.u(110));
  put_hand_over(frame, rest.take_top(std::max(rest.h * 0.55F, needed), frame.u(kGap)));
  put_cautions(frame, rest);
}

}  // namespace howl::desk
