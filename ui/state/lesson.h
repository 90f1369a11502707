#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/demo/demo_truth.h"
#include "src/profile/profile.h"
#include "src/report/finding.h"
#include "ui/state/steps.h"

namespace howl::desk {

struct DeskState;

/// Class mode: a case before a class, step by step, its answer hidden until somebody shows it.

/// What to look at in a step and why, in a sentence or two.
std::string_view lesson_of(Step step);

/// Whether what gives the answer away is to be left out of everything that is drawn.
bool is_answer_hidden(const DeskState& state);

/// The takes of the case in the order in which they are listed: as they were recorded, but by their
/// points' names and speeds while the answer is hidden, since who records begins where it is loud.
std::vector<std::string> listed_takes(const DeskState& state);
/// The next tests, by their places in the verdict: the best first, but by their names while the
/// answer is hidden.
std::vector<std::size_t> listed_tests(const DeskState& state);

/// A source that could howl in this vehicle, for a class to choose from.
struct PossibleSource {
  std::string name;       ///< as the profile calls it
  std::string component;  ///< what it is part of
  std::string words;      ///< what turns it, and where its lines lie: "belt, order 10.8 … 12.8"
};
/// In the order of their names, which says nothing about how likely they are.
std::vector<PossibleSource> possible_sources(const Profile& profile);

/// The tool's answer beside the truth.
struct AnswerCheck {
  enum class Kind {
    truth_unknown,  ///< a real vehicle, or a demo case without its truth
    mended,         ///< no fault is left to find
    no_suspect,     ///< the tool names none
    agrees,         ///< its first suspect is the source at fault
    part_agrees,    ///< another source of the same part
    differs
  };
  Kind kind{};
  double chance_of_truth{};  ///< that the tool gives to what is at fault; 0 where it is not known
  std::string tool;          ///< a sentence each
  std::string truth;
  std::string judgement;
};
AnswerCheck check_answer(const Analysis& analysis, const std::optional<DemoTruth>& truth);

}  // namespace howl::desk
