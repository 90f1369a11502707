#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/analysis/verdict.h"
#include "ui/state/lesson.h"

namespace howl::desk {

/// A quiz over the demo cases: a class says what howls, and is scored beside the program.

inline constexpr std::string_view kCannotBeTold = "cannot be told";

/// How an answer turned out. Whoever says that it cannot be told, or gives its favourite less than
/// one in two, is neither right nor wrong.
enum class Outcome { right, wrong, passed };

/// One case that was answered.
struct QuizRound {
  std::string title;  ///< of the case
  std::string truth;  ///< what the profile calls the source at fault
  std::string chosen;
  Outcome chosen_outcome{};
  std::string tool;  ///< the program's first suspect; empty: it named none
  double tool_probability{};
  Outcome tool_outcome{};
  /// Brier scores over all choices, 0 (sure and right) to 2 (sure and wrong): Brier (1950), Monthly
  /// Weather Review 78(1), 1–3, eq. 2. A class that chooses counts as sure; 'cannot be told' counts
  /// as the same chance for each choice.
  double chosen_brier{};
  double tool_brier{};
};

/// `choices`: the sources of the profile, `truth` one of them.
QuizRound score_round(const std::string& title, const std::vector<std::string>& choices,
                      const std::string& chosen, const std::string& truth, const Verdict& verdict);

/// Whether the class was right, in a sentence, and what it said against what it was.
std::string class_words(const QuizRound& round);

struct QuizTally {
  std::size_t asked{};
  std::size_t class_right{};
  std::size_t class_passed{};
  std::size_t tool_right{};
  std::size_t tool_passed{};
  double class_brier{};  ///< mean; 0 where nothing was asked
  double tool_brier{};
};
QuizTally tally_of(const std::vector<QuizRound>& rounds);

struct Quiz {
  std::uint64_t seed{};
  std::vector<std::string> recipes;  ///< in the order in which they are asked
  std::size_t at{};
  std::optional<std::string> pointed;  ///< the choice that keys point at
  std::optional<std::string> chosen;   ///< of the case that lies on the desk
  std::vector<QuizRound> rounds;

  bool over() const { return at >= recipes.size(); }
};

/// The demo recipes, shuffled; the same seed gives the same order on every machine.
Quiz new_quiz(std::uint64_t seed);

/// What can be chosen for a case: its possible sources, then kCannotBeTold.
std::vector<PossibleSource> quiz_choices(const std::vector<PossibleSource>& sources);

/// Where cases of the quiz are kept once they are made, as they can be made again:
/// $XDG_CACHE_HOME/howlpoint/quiz/<version>, else ~/.cache/… (XDG Base Directory Specification
/// 0.8), else among the temporary files. Folders have numbers: a name would give the answer away.
std::filesystem::path quiz_folder();
/// Of one recipe, by its place among all.
std::filesystem::path quiz_case_folder(const std::string& recipe);

}  // namespace howl::desk
