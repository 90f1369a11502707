#include <fmt/format.h>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

void put_answer(Frame& frame, const Area& area) {
  const Answer& answer = *frame.state.answer;
  const Area inner = card(frame, area, "What it comes to");
  scrolled(frame, "report.answer", inner, [&](Area list) {
    Area rows = list;
    rows.h = 1e6F;
    const auto say = [&](std::string_view question, const std::string& text) {
      if (text.empty()) return;
      put_line(frame.look.fonts.label, rows.take_top(line_height(frame.look.fonts.note)),
               frame.theme().accent, question);
      rows.take_top(put_paragraph(frame.look.fonts.body, rows, frame.theme().ink, text),
                    frame.u(14));
    };
    say("What howls", answer.finding.what);
    say("Where it is loudest", answer.finding.where);
    say("Which part", answer.analysis.verdict.conclusion);
    for (const std::string& text : answer.analysis.verdict.contradictions)
      say("What does not fit", text);
    for (const std::string& text : answer.analysis.warnings) say("Warning", text);
    return rows.y - list.y;
  });
}

void put_cautions(Frame& frame, const Area& area) {
  const Analysis& analysis = *frame.state.analysis();
  const Area inner = card(frame, area, "Cautions");
  scrolled(frame, "report.cautions", inner, [&](Area list) {
    Area rows = list;
    rows.h = 1e6F;
    for (const std::string& text : analysis.cautions) {
      Area row = rows;
      const float side = frame.u(18);
      const Area sign = row.take_left(side, frame.u(10));
      put_sign({sign.x, sign.y + frame.u(2), side, side}, Sign::warning, frame.theme().warn);
      rows.take_top(put_paragraph(frame.look.fonts.body, row, frame.theme().ink, text),
                    frame.u(10));
    }
    return rows.y - list.y;
  });
}

}  // namespace

void draw_report(Frame& frame, const Area& area) {
  if (!has_answer(frame, area)) return;
  Area rest = area;
  const Area left = rest.take_left(rest.w * 0.6F, frame.u(kGap));
  put_answer(frame, left);
  put_cautions(frame, rest);
}

}  // namespace howl::desk
