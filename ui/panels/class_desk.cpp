#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

ImU32 judgement_colour(const Theme& theme, AnswerCheck::Kind kind) {
  using Kind = AnswerCheck::Kind;
  if (kind == Kind::agrees) return theme.good;
  if (kind == Kind::truth_unknown || kind == Kind::mended) return theme.quiet;
  return kind == Kind::part_agrees ? theme.warn : theme.bad;
}

void put_progress(Frame& frame, Area area) {
  if (frame.state.jobs.empty()) return;
  const JobStatus& job = frame.state.jobs.front();
  const float words = line_height(frame.look.fonts.note);
  put_line(frame.look.fonts.note, area.take_top(words, frame.u(4)), frame.theme().quiet,
           fmt::format("{} … {:.0f} %", job.title, 100 * job.fraction), Side::right);
  put_meter(area.take_top(frame.u(5)), static_cast<float>(job.fraction), frame.theme().accent,
            frame.theme().raised);
}

/// The question of the step, large, and what to see in it until the answer is shown. Returns the
/// height used.
float put_lesson(Frame& frame, Area area) {
  const Step step = frame.state.view.step;
  const Fonts& fonts = frame.look.fonts;
  const float top = area.y;
  Area head = area.take_top(line_height(fonts.figure), frame.u(2));
  const bool asked = frame.state.quiz || !frame.state.jobs.empty();
  const Area right = asked ? head.take_right(frame.u(330), frame.u(16)) : Area{};
  if (frame.state.quiz && frame.state.jobs.empty())
    put_line(fonts.label, right, frame.theme().accent, quiz_words(*frame.state.quiz), Side::right);
  put_progress(frame, right);
  put_line(fonts.figure, head, frame.theme().ink, step_asks(step));
  if (is_answer_hidden(frame.state))
    area.take_top(put_paragraph(fonts.body, area, frame.theme().ink, lesson_of(step)));
  return area.y - top;
}

/// Which of the steps this is; each can be pressed.
void put_places(Frame& frame, Area area) {
  const float width = area.w / static_cast<float>(kSteps);
  for (std::size_t i = 0; i < kSteps; ++i) {
    const Step step = kAllSteps.at(i);
    const Area place = area.take_left(width);
    const bool chosen = frame.state.view.step == step;
    const Touch touched = touch(frame, fmt::format("step.{}", step_key(step)), place);
    const float round = frame.u(chosen ? 30 : 24);
    const Area disc{place.centre().x - round / 2, place.centre().y - round / 2, round, round};
    const Theme& theme = frame.theme();
    const bool runs = step == Step::record && frame.state.record.running && !chosen;
    fill(disc,
         runs           ? theme.bad
         : chosen       ? theme.accent
         : touched.over ? theme.lit
                        : theme.raised,
         round / 2);
    put_line(frame.look.fonts.label, disc,
             runs     ? theme.card
             : chosen ? theme.on_accent
                      : theme.quiet,
             fmt::format("{}", i + 1), Side::centre);
    if (touched.pressed) frame.wish(GoTo{step});
  }
}

void put_bar(Frame& frame, Area area) {
  const ViewState& view = frame.state.view;
  const float gap = frame.u(10);
  const ButtonWords back{.label = "Back", .sign = Sign::back, .enabled = view.step != Step{}};
  const ButtonWords next{.label = "Next step",
                         .sign = Sign::next,
                         .look = ButtonLook::main,
                         .enabled = view.step != kAllSteps.back()};
  const ButtonWords answer{.label = view.answer_hidden ? "Show the answer" : "Hide the answer",
                           .on = !view.answer_hidden};
  const bool asked = frame.state.quiz.has_value();
  const bool answered = asked && frame.state.quiz->chosen;
  const bool last = asked && frame.state.quiz->at + 1 == frame.state.quiz->recipes.size();
  const ButtonWords ask{.label = !answered ? "Give the answer"
                                 : last    ? "See the tally"
                                           : "Next case"};
  const ButtonWords leave{.label = "", .sign = Sign::cross, .look = ButtonLook::bare};
  if (button(frame, "class.back", area.take_left(button_width(frame, back), gap), back))
    frame.wish(GoOn{-1});
  if (button(frame, "class.leave", area.take_right(frame.u(kTouch), gap), leave))
    asked ? frame.wish(StopQuiz{}) : frame.wish(SetClassMode{false});
  if (button(frame, "class.next", area.take_right(button_width(frame, next), gap), next))
    frame.wish(GoOn{1});
  if (asked) {
    if (button(frame, "class.quiz", area.take_right(button_width(frame, ask), gap), ask))
      answered ? frame.wish(NextQuizCase{}) : frame.wish(GoTo{Step::what});
  } else if (button(frame, "class.answer", area.take_right(button_width(frame, answer), gap),
                    answer)) {
    frame.wish(ShowAnswer{view.answer_hidden});
  }
  put_places(frame, area);
}

ImU32 outcome_colour(const Theme& theme, Outcome outcome) {
  if (outcome == Outcome::right) return theme.good;
  return outcome == Outcome::wrong ? theme.bad : theme.warn;
}

struct CheckLine {
  std::string words;
  ImU32 colour{};
};

bool class_answered(const Frame& frame) { return frame.state.quiz && frame.state.quiz->chosen; }

/// In a quiz first how the class did; then the program against the truth. `brief`: what counts
/// most.
std::vector<CheckLine> check_lines(const Frame& frame, bool brief) {
  const Theme& theme = frame.theme();
  const AnswerCheck check = check_answer(*frame.state.analysis(), frame.state.opened->truth);
  const CheckLine judged{check.judgement, judgement_colour(theme, check.kind)};
  if (!class_answered(frame)) {
    if (brief) return {judged};
    return {{check.truth.empty() ? check.tool : check.tool + " " + check.truth, theme.ink}, judged};
  }
  const QuizRound& round = frame.state.quiz->rounds.back();
  const CheckLine of_class{class_words(round), outcome_colour(theme, round.chosen_outcome)};
  if (brief) return {of_class};
  return {of_class, {check.truth, theme.ink}, {check.tool + " " + check.judgement, theme.ink}};
}

/// The answer beside the truth, once it is shown. Returns the height used.
float put_check(Frame& frame, const Area& area) {
  const Theme& theme = frame.theme();
  ImFont* const font = frame.look.fonts.strong;
  constexpr float low = 330;
  const bool brief = area.h < frame.u(low) && frame.state.view.step != Step::what;
  const std::vector<CheckLine> lines = check_lines(frame, brief);
  const float width = area.w - frame.u(2 * kPad);
  float height = frame.u(16);
  for (const CheckLine& line : lines) height += paragraph_height(font, width, line.words);
  const Area box{area.x, area.y, area.w, height};
  fill(box, theme.card, frame.u(10));
  const ImU32 rim = class_answered(frame) ? lines.front().colour : lines.back().colour;
  outline(box, rim, frame.u(10), frame.u(2));
  Area inner = box.inset(frame.u(kPad), frame.u(8));
  for (const CheckLine& line : lines)
    inner.take_top(put_paragraph(font, inner, line.colour, line.words));
  frame.targets.insert_or_assign("class.check", box);
  return box.h;
}

void draw_unanswered(Frame& frame, const Area& area) {
  switch (frame.state.view.step) {
    case Step::complaint:
      return draw_complaint_unanswered(frame, area);
    case Step::pitch:
      return draw_pitch_unanswered(frame, area);
    case Step::where:
      return draw_where_unanswered(frame, area);
    case Step::what:
      return draw_what_unanswered(frame, area);
    case Step::proof:
      return draw_proof_unanswered(frame, area);
    case Step::report:
      return draw_report_unanswered(frame, area);
    case Step::points:
    case Step::record:
    case Step::listen:
      return draw_step(frame, area);
  }
}

}  // namespace

void draw_class(Frame& frame, const Area& window) {
  Area rest = window.inset(frame.u(kPad), frame.u(10));
  put_bar(frame, rest.take_bottom(frame.u(52), frame.u(10)));
  rest.take_top(put_lesson(frame, rest), frame.u(10));
  put_notices(frame, rest);
  if (is_answer_hidden(frame.state)) {
    draw_unanswered(frame, rest);
  } else {
    if (frame.state.answer) rest.take_top(put_check(frame, rest), frame.u(10));
    draw_step(frame, rest);
  }
  draw_keys(frame, window);
}

}  // namespace howl::desk
