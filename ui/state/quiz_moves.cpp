#include <fmt/format.h>

#include <algorithm>
#include <random>
#include <utility>

#include "src/demo/demo_cases.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

Recipe recipe_named(const std::string& name) {
  std::vector<Recipe> recipes = embedded_recipes();
  return *std::ranges::find(recipes, name, &Recipe::name);
}

/// One that was made before is used again; a case that is there is whole, as it was moved to its
/// place when it was finished.
void make_quiz_case(const std::string& name, const std::filesystem::path& folder,
                    JobContext& context) {
  if (std::filesystem::exists(folder / "truth.json")) return;
  std::filesystem::create_directories(folder.parent_path());
  make_demo_case(
      recipe_named(name), folder, [&](const std::string&, std::size_t done, std::size_t takes) {
        context.report(static_cast<double>(done) / static_cast<double>(takes), "making the case");
      });
}

std::vector<std::string> names_of(const std::vector<PossibleSource>& choices) {
  std::vector<std::string> names;
  for (const PossibleSource& choice : choices)
    if (choice.name != kCannotBeTold) names.push_back(choice.name);
  return names;
}

}  // namespace

void Desk::act(const StartQuiz& wish) {
  const std::uint64_t seed = wish.seed ? *wish.seed : std::random_device{}();
  act(CloseCase{});
  act(SetClassMode{true});
  state_.quiz = new_quiz(seed);
  ask_next();
}

/// Makes the case that comes next and lays it on the desk.
void Desk::ask_next() {
  close_case();
  state_.quiz->chosen.reset();
  state_.quiz->pointed.reset();
  if (state_.quiz->over()) return;
  const std::string name = state_.quiz->recipes[state_.quiz->at];
  const std::filesystem::path folder = quiz_case_folder(name);
  jobs_.start(
      Jobs::Lane::work,
      fmt::format("Making case {} of {}", state_.quiz->at + 1, state_.quiz->recipes.size()),
      [this, name, folder](JobContext& context) -> Jobs::Done {
        make_quiz_case(name, folder, context);
        return [this, name, folder] {
          const bool wanted =
              state_.quiz && !state_.quiz->over() && state_.quiz->recipes[state_.quiz->at] == name;
          if (wanted) open_folder(folder);
        };
      },
      [this](const std::exception& why) {
        state_.quiz.reset();
        tell(why);
      });
}

bool can_choose(const DeskState& state) {
  return state.quiz && !state.quiz->over() && !state.quiz->chosen && state.opened &&
         state.opened->truth && state.answer;
}

void Desk::act(const PointAtChoice& wish) {
  if (!can_choose(state_)) return;
  const auto choices = quiz_choices(state_.opened->sources);
  auto& pointed = state_.quiz->pointed;
  const auto now = std::ranges::find(choices, pointed.value_or(""), &PossibleSource::name);
  const auto last = static_cast<std::ptrdiff_t>(choices.size()) - 1;
  const auto next = now == choices.end() ? 0 : now - choices.begin() + wish.by;
  pointed = choices[static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(next, 0, last))].name;
}

void Desk::act(const AnswerQuiz& wish) {
  if (!can_choose(state_)) return;
  const auto choices = quiz_choices(state_.opened->sources);
  if (std::ranges::find(choices, wish.choice, &PossibleSource::name) == choices.end()) return;
  state_.quiz->chosen = wish.choice;
  state_.quiz->rounds.push_back(score_round(state_.opened->value.title, names_of(choices),
                                            wish.choice, state_.opened->truth->suspect,
                                            state_.answer->analysis.verdict));
  state_.view.answer_hidden = false;
  state_.view.step = Step::what;
}

void Desk::act(const NextQuizCase& /*wish*/) {
  if (!state_.quiz || state_.quiz->over() || !state_.quiz->chosen) return;
  ++state_.quiz->at;
  ask_next();
}

void Desk::act(const StopQuiz& /*wish*/) { act(CloseCase{}); }

}  // namespace howl::desk
