#include "ui/state/quiz.h"

#include <fmt/format.h>

#include "src/percent_text.h"
#include "ui/look/widgets.h"
#include "ui/panels/panels.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

std::string_view outcome_word(Outcome outcome) {
  switch (outcome) {
    case Outcome::right:
      return "right";
    case Outcome::wrong:
      return "wrong";
    case Outcome::passed:
      break;
  }
  return "left open";
}

std::string tool_words(const QuizRound& round) {
  if (round.tool.empty()) return "no suspect";
  return fmt::format("{}, {}: {}", round.tool, percent_text(round.tool_probability),
                     outcome_word(round.tool_outcome));
}

std::string sum_words(std::string_view who, std::size_t right, std::size_t passed,
                      std::size_t asked, double score) {
  return fmt::format("{}: {} of {} right, {} left open; Brier score {:.2f}", who, right, asked,
                     passed, score);
}

void put_sums(Frame& frame, Area& rows, const QuizTally& tally) {
  const Fonts& fonts = frame.look.fonts;
  for (const std::string& text : {sum_words("The class", tally.class_right, tally.class_passed,
                                            tally.asked, tally.class_brier),
                                  sum_words("The program", tally.tool_right, tally.tool_passed,
                                            tally.asked, tally.tool_brier)})
    rows.take_top(put_paragraph(fonts.title, rows, frame.theme().ink, text), frame.u(4));
  rows.take_top(
      put_paragraph(fonts.note, rows, frame.theme().quiet,
                    "The Brier score goes by how sure an answer was: 0 is sure and right, 2 is "
                    "sure and wrong. The class counts as sure of what it chose, the program as "
                    "sure as it said; 'cannot be told' counts as the same chance for each. Less "
                    "than one in two for its first suspect counts as left open by the program."),
      frame.u(14));
}

void put_rounds(Frame& frame, Area area, const std::vector<QuizRound>& rounds) {
  std::vector<Row> rows;
  for (std::size_t i = 0; i < rounds.size(); ++i) {
    const QuizRound& round = rounds[i];
    rows.push_back({std::to_string(i + 1),
                    {round.title, round.truth,
                     fmt::format("{}: {}", round.chosen, outcome_word(round.chosen_outcome)),
                     tool_words(round)}});
  }
  constexpr std::array<Column, 4> columns{
      {{"case", 1.3F}, {"in truth", 0.9F}, {"the class said", 1.2F}, {"the program said", 1.3F}}};
  table(frame, "quiz.rounds", area, columns, rows);
}

}  // namespace

std::string quiz_words(const Quiz& quiz) {
  const QuizTally tally = tally_of(quiz.rounds);
  return fmt::format("Case {} of {} · right so far: class {}, program {}", quiz.at + 1,
                     quiz.recipes.size(), tally.class_right, tally.tool_right);
}

void draw_quiz(Frame& frame, const Area& area) {
  const Quiz& quiz = *frame.state.quiz;
  Area inner = card(frame, area, quiz.over() ? "How the quiz came out" : "");
  if (!quiz.over())
    return nothing_to_show(
        frame, inner,
        fmt::format("Case {} of {} is being made …", quiz.at + 1, quiz.recipes.size()));
  const ButtonWords done{.label = "Done", .look = ButtonLook::main};
  const Area foot = inner.take_bottom(frame.u(48), frame.u(10));
  if (button(frame, "quiz.stop", {foot.x, foot.y, button_width(frame, done), foot.h}, done))
    frame.wish(StopQuiz{});
  put_sums(frame, inner, tally_of(quiz.rounds));
  put_rounds(frame, inner, quiz.rounds);
}

}  // namespace howl::desk
