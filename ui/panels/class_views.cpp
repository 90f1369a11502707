#include <fmt/format.h>

#include <algorithm>

#include "src/reasoning/fact_words.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/panels/parts.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

/// A paragraph under a label, both large enough for the last row.
void say(Frame& frame, Area& rows, std::string_view label, std::string_view text) {
  if (text.empty()) return;
  const Fonts& fonts = frame.look.fonts;
  put_line(fonts.label, rows.take_top(line_height(fonts.note), frame.u(2)), frame.theme().accent,
           label);
  rows.take_top(put_paragraph(fonts.title, rows, frame.theme().ink, text), frame.u(14));
}

std::string question_of(const OpenedCase& opened, const std::string& key) {
  const auto fact = std::ranges::find(opened.facts, key, &WorkshopFact::key);
  return fact == opened.facts.end() ? key : fact->question;
}

float source_height(const Frame& frame) {
  return line_height(frame.look.fonts.strong) + line_height(frame.look.fonts.note) + frame.u(10);
}

/// In a quiz it can be chosen.
void put_source(Frame& frame, const PossibleSource& source, const Area& area) {
  const Fonts& fonts = frame.look.fonts;
  const bool open = can_choose(frame.state);
  const Touch touched = open ? touch(frame, "quiz.choice." + source.name, area) : Touch{};
  const bool pointed = open && frame.state.quiz->pointed == source.name;
  fill(area, touched.over || pointed ? frame.theme().lit : faded(frame.theme().raised, 0.6F),
       frame.u(7));
  if (pointed) outline(area, frame.theme().accent, frame.u(7), frame.u(1.6F));
  if (touched.pressed) frame.wish(AnswerQuiz{source.name});
  Area inner = area.inset(frame.u(10), frame.u(5));
  put_line(fonts.strong, inner.take_top(line_height(fonts.strong)), frame.theme().ink, source.name);
  put_line(fonts.note, inner, frame.theme().quiet, source.words);
}

}  // namespace

void draw_complaint_unanswered(Frame& frame, const Area& area) {
  const OpenedCase& opened = *frame.state.opened;
  const Area inner = card(frame, area, "");
  scrolled(frame, "class.complaint", inner, [&](Area& rows) {
    say(frame, rows, "complaint", opened.value.title);
    say(frame, rows, "in the customer's words", opened.value.about.complaint);
    say(frame, rows, "vehicle", opened.profile.title);
    if (const auto cylinders = opened.profile.cylinders)
      say(frame, rows, "engine",
          fmt::format("{} cylinders; its own firing is order {:.1f}", *cylinders,
                      2.0 * *cylinders / opened.profile.strokes));
    for (const WorkshopEvidence& found : opened.value.evidence)
      say(frame, rows, question_of(opened, found.key),
          fact_value_words(found.value) + (found.note.empty() ? "" : ": " + found.note));
  });
}

void draw_what_unanswered(Frame& frame, const Area& area) {
  const bool asked = frame.state.quiz.has_value();
  const auto sources =
      asked ? quiz_choices(frame.state.opened->sources) : frame.state.opened->sources;
  const Area inner = card(frame, area, asked ? "Choose what howls" : "What could howl here",
                          "what turns it, and where its lines lie");
  if (sources.empty())
    return nothing_to_show(frame, inner, "The profile of this case names no sources.");
  scrolled(frame, "class.sources", inner, [&](Area& rows) {
    const float gap = frame.u(8);
    const auto columns = static_cast<std::size_t>(rows.w > frame.u(860) ? 3 : 2);
    const float width =
        (rows.w - gap * static_cast<float>(columns - 1)) / static_cast<float>(columns);
    for (std::size_t i = 0; i < sources.size(); i += columns) {
      Area row = rows.take_top(source_height(frame), gap);
      for (std::size_t k = i; k < std::min(i + columns, sources.size()); ++k)
        put_source(frame, sources[k], row.take_left(width, gap));
    }
  });
}

void draw_report_unanswered(Frame& frame, const Area& area) {
  nothing_to_show(frame, card(frame, area, ""),
                  "The answer is hidden. Let the class say what it would report, then show it.");
}

}  // namespace howl::desk
