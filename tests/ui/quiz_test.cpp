#include <doctest/doctest.h>

#include <algorithm>
#include <set>
#include <string>

#include "src/demo/recipe.h"
#include "tests/src/environment.h"
#include "tests/src/scratch_folder.h"
#include "tests/ui/panel_stage.h"
#include "ui/state/keys.h"
#include "ui/state/quiz.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

const std::vector<std::string> kChoices{"alternator", "pump", "resonance", "tyre"};

Verdict verdict_of(std::vector<std::pair<std::string, double>> suspects) {
  Verdict verdict;
  for (const auto& [source, probability] : suspects)
    verdict.suspects.push_back({source, source, probability, {}, {}});
  return verdict;
}

/// A folder for the quiz's cases, and the demo that is quickest to make.
struct QuizRoom {
  howl::test::ScratchFolder scratch;
  howl::test::Variable cache{"XDG_CACHE_HOME", scratch.path().string()};
  Desk desk{Settings{}};
  const DeskState& state() const { return desk.state(); }
  void press(std::string_view key) {
    const auto wish = wish_of_key(key, state());
    REQUIRE(wish);
    desk.apply(*wish);
  }
};

}  // namespace

TEST_CASE("a sure answer that is right scores 0, one that is wrong 2") {
  // Brier 1950, eq. 2: sum over the choices of (chance − outcome)².
  const auto right = score_round("x", kChoices, "pump", "pump", verdict_of({{"pump", 1.0}}));
  CHECK(right.chosen_outcome == Outcome::right);
  CHECK(right.chosen_brier == doctest::Approx(0));
  CHECK(right.tool_outcome == Outcome::right);
  CHECK(right.tool_brier == doctest::Approx(0));
  const auto wrong = score_round("x", kChoices, "tyre", "pump", verdict_of({{"tyre", 1.0}}));
  CHECK(wrong.chosen_outcome == Outcome::wrong);
  CHECK(wrong.chosen_brier == doctest::Approx(2));
  CHECK(wrong.tool_outcome == Outcome::wrong);
  CHECK(wrong.tool_brier == doctest::Approx(2));
}

TEST_CASE("the program is scored by the chances that it gave") {
  // (0.7 − 1)² + 0.2² + 0.1² where 0.1 went to something that is not in the profile.
  const auto round = score_round("x", kChoices, "tyre", "pump",
                                 verdict_of({{"pump", 0.7}, {"tyre", 0.2}, {"", 0.1}}));
  CHECK(round.tool_brier == doctest::Approx(0.09 + 0.04 + 0.01));
  CHECK(round.tool_outcome == Outcome::right);
  CHECK(round.tool_probability == doctest::Approx(0.7));
}

TEST_CASE("who leaves it open is neither right nor wrong") {
  // A quarter each: (1/4 − 1)² + 3 (1/4)² = 3/4.
  const auto round = score_round("x", kChoices, std::string(kCannotBeTold), "pump",
                                 verdict_of({{"pump", 0.45}, {"tyre", 0.4}}));
  CHECK(round.chosen_outcome == Outcome::passed);
  CHECK(round.chosen_brier == doctest::Approx(0.75));
  CHECK(round.tool_outcome == Outcome::passed);
  const auto silent = score_round("x", kChoices, "pump", "pump", Verdict{});
  CHECK(silent.tool_outcome == Outcome::passed);
  CHECK(silent.tool.empty());
  CHECK(silent.tool_brier == doctest::Approx(0.75));
}

TEST_CASE("the tally counts both sides alike") {
  const QuizTally none = tally_of({});
  CHECK(none.asked == 0);
  CHECK(none.class_brier == 0);
  const QuizTally tally =
      tally_of({score_round("x", kChoices, "pump", "pump", verdict_of({{"tyre", 1.0}})),
                score_round("y", kChoices, "tyre", "pump", verdict_of({{"pump", 1.0}})),
                score_round("z", kChoices, std::string(kCannotBeTold), "pump", Verdict{})});
  CHECK(tally.asked == 3);
  CHECK(tally.class_right == 1);
  CHECK(tally.tool_right == 1);
  CHECK(tally.class_passed == 1);
  CHECK(tally.tool_passed == 1);
  CHECK(tally.class_brier == doctest::Approx((0 + 2 + 0.75) / 3));
  CHECK(tally.class_brier == doctest::Approx(tally.tool_brier));
}

TEST_CASE("the order of a quiz follows from its seed, and every demo is asked once") {
  const Quiz quiz = new_quiz(7);
  CHECK(quiz.recipes == new_quiz(7).recipes);
  std::set<std::string> all;
  for (const Recipe& recipe : embedded_recipes()) all.insert(recipe.name);
  CHECK(std::set<std::string>(quiz.recipes.begin(), quiz.recipes.end()) == all);
  CHECK(quiz.recipes.size() == all.size());
  std::set<std::vector<std::string>> orders;
  for (std::uint64_t seed = 0; seed < 20; ++seed) orders.insert(new_quiz(seed).recipes);
  CHECK(orders.size() > 15);
}

TEST_CASE("what can be chosen ends with 'cannot be told', and holds a resonance once") {
  const auto choices = quiz_choices({{"alternator", "", ""}, {"resonance", "", ""}});
  REQUIRE(choices.size() == 3);
  CHECK(choices.back().name == kCannotBeTold);
  CHECK(quiz_choices({{"alternator", "", ""}}).size() == 3);
}

TEST_CASE("demo: a quiz makes a case, hides its answer, and scores the class beside the program") {
  QuizRoom room;
  room.desk.apply(StartQuiz{3});
  CHECK(room.state().settings.class_mode);
  room.desk.finish_jobs();
  REQUIRE(room.state().opened);
  REQUIRE(room.state().answer);
  REQUIRE(room.state().opened->truth);
  CHECK(room.state().opened->folder.string().find(room.state().quiz->recipes[0]) ==
        std::string::npos);
  CHECK(room.state().settings.recent.empty());
  CHECK(is_answer_hidden(room.state()));
  room.press("A");  // not before the class has answered
  CHECK(is_answer_hidden(room.state()));

  bench::Stage stage(room.desk);
  stage.frames(2);
  stage.click("class.quiz");
  CHECK(room.state().view.step == Step::what);
  room.press("Down");
  CHECK(room.state().quiz->pointed);
  room.desk.apply(AnswerQuiz{"no such source"});
  CHECK(room.state().quiz->rounds.empty());
  const std::string truth = room.state().opened->truth->suspect;
  stage.frame();
  REQUIRE(stage.targets.contains("quiz.choice." + truth));
  room.desk.apply(AnswerQuiz{truth});
  CHECK_FALSE(is_answer_hidden(room.state()));
  REQUIRE(room.state().quiz->rounds.size() == 1);
  CHECK(room.state().quiz->rounds[0].chosen_outcome == Outcome::right);
  room.desk.apply(AnswerQuiz{"resonance"});  // said is said
  CHECK(room.state().quiz->rounds.size() == 1);
  stage.frames(2);
  CHECK(stage.targets.contains("class.check"));
  CHECK_FALSE(stage.targets.contains("quiz.choice." + truth));

  stage.click("class.quiz");
  CHECK(room.state().quiz->at == 1);
  room.desk.apply(StopQuiz{});
  CHECK_FALSE(room.state().quiz);
  room.desk.finish_jobs();
  CHECK_FALSE(room.state().opened);  // what was being made is not laid on the desk any more
}

TEST_CASE("F5 ends a quiz, as the cross does, and shows nothing of its case") {
  QuizRoom room;
  room.desk.apply(StartQuiz{3});
  REQUIRE(room.state().quiz);
  room.press("F5");
  CHECK_FALSE(room.state().quiz);
  CHECK(room.state().settings.class_mode);
  room.desk.finish_jobs();
  CHECK_FALSE(room.state().opened);
  room.press("F5");  // out of a quiz it does what it did
  CHECK_FALSE(room.state().settings.class_mode);
}
