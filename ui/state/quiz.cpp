#include "ui/state/quiz.h"

#include <fmt/format.h>

#include <algorithm>
#include <random>
#include <utility>

#include "src/demo/recipe.h"
#include "src/files/user_folders.h"
#include "src/version.h"

namespace howl::desk {
namespace {

namespace fs = std::filesystem;

constexpr double kNotEvenHalf = 0.5;

std::vector<std::string> recipe_names() {
  std::vector<std::string> names;
  for (const Recipe& recipe : embedded_recipes()) names.push_back(recipe.name);
  return names;
}

/// Sum of the squares of what each choice got less what it deserved.
double brier(const std::vector<std::string>& choices, const std::string& truth,
             const std::vector<double>& chances, double for_none_of_them) {
  double sum = for_none_of_them * for_none_of_them;
  for (std::size_t i = 0; i < choices.size(); ++i) {
    const double miss = chances[i] - (choices[i] == truth ? 1.0 : 0.0);
    sum += miss * miss;
  }
  return sum;
}

double same_for_all_brier(const std::vector<std::string>& choices, const std::string& truth) {
  const std::vector<double> same(choices.size(), 1.0 / static_cast<double>(choices.size()));
  return brier(choices, truth, same, 0);
}

void score_class(QuizRound& round, const std::vector<std::string>& choices) {
  if (round.chosen == kCannotBeTold) {
    round.chosen_outcome = Outcome::passed;
    round.chosen_brier = same_for_all_brier(choices, round.truth);
    return;
  }
  std::vector<double> sure(choices.size(), 0.0);
  for (std::size_t i = 0; i < choices.size(); ++i) sure[i] = choices[i] == round.chosen ? 1.0 : 0.0;
  round.chosen_outcome = round.chosen == round.truth ? Outcome::right : Outcome::wrong;
  round.chosen_brier = brier(choices, round.truth, sure, 0);
}

void score_tool(QuizRound& round, const std::vector<std::string>& choices, const Verdict& verdict) {
  if (verdict.suspects.empty()) {
    round.tool_outcome = Outcome::passed;
    round.tool_brier = same_for_all_brier(choices, round.truth);
    return;
  }
  const Suspect& first = verdict.suspects.front();
  round.tool = suspect_name(first);
  round.tool_probability = first.probability;
  round.tool_outcome = first.probability < kNotEvenHalf ? Outcome::passed
                       : first.source == round.truth    ? Outcome::right
                                                        : Outcome::wrong;
  std::vector<double> chances(choices.size(), 0.0);
  double others = 0;
  for (const Suspect& suspect : verdict.suspects) {
    const auto choice = std::ranges::find(choices, suspect.source);
    if (choice == choices.end())
      others += suspect.probability;
    else
      chances[static_cast<std::size_t>(choice - choices.begin())] += suspect.probability;
  }
  round.tool_brier = brier(choices, round.truth, chances, others);
}

}  // namespace

QuizRound score_round(const std::string& title, const std::vector<std::string>& choices,
                      const std::string& chosen, const std::string& truth, const Verdict& verdict) {
  QuizRound round;
  round.title = title;
  round.truth = truth;
  round.chosen = chosen;
  score_class(round, choices);
  score_tool(round, choices, verdict);
  return round;
}

std::string class_words(const QuizRound& round) {
  switch (round.chosen_outcome) {
    case Outcome::right:
      return fmt::format("The class is right: {}.", round.truth);
    case Outcome::wrong:
      return fmt::format("The class is wrong: it said {}, but it was {}.", round.chosen,
                         round.truth);
    case Outcome::passed:
      break;
  }
  return fmt::format("The class left it open: it was {}.", round.truth);
}

QuizTally tally_of(const std::vector<QuizRound>& rounds) {
  QuizTally tally;
  for (const QuizRound& round : rounds) {
    ++tally.asked;
    tally.class_right += round.chosen_outcome == Outcome::right ? 1 : 0;
    tally.class_passed += round.chosen_outcome == Outcome::passed ? 1 : 0;
    tally.tool_right += round.tool_outcome == Outcome::right ? 1 : 0;
    tally.tool_passed += round.tool_outcome == Outcome::passed ? 1 : 0;
    tally.class_brier += round.chosen_brier;
    tally.tool_brier += round.tool_brier;
  }
  if (tally.asked == 0) return tally;
  tally.class_brier /= static_cast<double>(tally.asked);
  tally.tool_brier /= static_cast<double>(tally.asked);
  return tally;
}

Quiz new_quiz(std::uint64_t seed) {
  Quiz quiz;
  quiz.seed = seed;
  quiz.recipes = recipe_names();
  // std::shuffle differs from one library to another.
  std::mt19937_64 random(seed);
  for (std::size_t i = quiz.recipes.size(); i > 1; --i)
    std::swap(quiz.recipes[i - 1], quiz.recipes[random() % i]);
  return quiz;
}

std::vector<PossibleSource> quiz_choices(const std::vector<PossibleSource>& sources) {
  std::vector<PossibleSource> choices = sources;
  if (std::ranges::find(choices, "resonance", &PossibleSource::name) == choices.end())
    choices.push_back({"resonance", "", "nothing turns: it rings"});
  choices.push_back({std::string(kCannotBeTold), "", "from what was recorded"});
  return choices;
}

std::filesystem::path quiz_folder() {
  const auto cache = cache_folder();
  return (cache ? *cache : fs::temp_directory_path()) / "howlpoint" / "quiz" / version;
}

std::filesystem::path quiz_case_folder(const std::string& recipe) {
  const std::vector<std::string> names = recipe_names();
  const auto place = std::ranges::find(names, recipe) - names.begin();
  return quiz_folder() / fmt::format("case-{}", place + 1);
}

}  // namespace howl::desk
