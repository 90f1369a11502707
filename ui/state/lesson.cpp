#include "ui/state/lesson.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <limits>
#include <utility>
#include <variant>

#include "src/percent_text.h"
#include "src/profile/expected_lines.h"
#include "src/report/number_text.h"
#include "ui/state/desk.h"

namespace howl::desk {
namespace {

constexpr std::array<std::string_view, kSteps> kLessons{
    "What does the customer hear, and when? Every noise that follows the engine has a part that "
    "turns; so first write down when it comes, and when it does not.",
    "Solid parts carry sound, air does not. Each point sits on a housing close to one part, so "
    "that "
    "what is loud there most likely comes from there.",
    "One take a point, all at the same engine speed, and some at other speeds. Only takes at one "
    "speed can be compared for level; only several speeds show what the pitch follows.",
    "Bright lines are tones. A line that climbs with the engine hangs on something that turns with "
    "it; a level line does not. Look for one that is not the engine's own firing.",
    "Each dot is the tone at one engine speed. On a straight line through zero it follows the "
    "engine; lying level it follows nothing that turns. Which is it here?",
    "The same tone, measured at each point. A difference of a few dB can be the hand that held the "
    "probe; a clear one shows the part. How sure is the first place?",
    "Count back: how often per engine turn does it sound, what turns that fast, and where was it "
    "loud? The part must fit all three.",
    "A good test changes one thing only, and the suspects would answer it differently. Which would "
    "you do first, and what would each outcome mean?",
    "What goes into the report: what was found, how sure it is, and what would change our minds."};

struct TurnedBy {
  std::string_view operator()(const CrankTurning&) const { return "crankshaft"; }
  std::string_view operator()(const BeltTurning&) const { return "belt"; }
  std::string_view operator()(const RoadTurning&) const { return "wheels"; }
  std::string_view operator()(const FreeTurning&) const { return "neither engine nor road"; }
  std::string_view operator()(const Ringing&) const { return "nothing turns: it rings"; }
};

std::string unit_words(ExpectedLine::Unit unit, const Interval& at) {
  switch (unit) {
    case ExpectedLine::Unit::order:
      return "order " + span_text(at, 1);
    case ExpectedLine::Unit::cycles_per_metre:
      return span_text(at, 1) + " a metre";
    case ExpectedLine::Unit::hertz:
      break;
  }
  return span_text(at, 0) + " Hz";
}

std::string where_it_howls(const Source& source) {
  const std::vector<ExpectedLine> lines = expected_lines(source);
  if (lines.empty()) return "";
  Interval all = lines.front().at;
  for (const ExpectedLine& line : lines)
    if (line.unit == lines.front().unit)
      all = {std::min(all.low, line.at.low), std::max(all.high, line.at.high)};
  return ", " + unit_words(lines.front().unit, all);
}

double chance_of(const Analysis& analysis, const DemoTruth& truth) {
  double chance = 0;
  for (const Suspect& suspect : analysis.verdict.suspects)
    if (truth.suspect.empty() ? suspect.component == truth.component
                              : suspect.source == truth.suspect)
      chance += suspect.probability;
  return chance;
}

std::string tool_words(const Analysis& analysis) {
  const Verdict& verdict = analysis.verdict;
  if (verdict.suspects.empty())
    return verdict.conclusion.empty() ? "The program names no suspect." : verdict.conclusion;
  const Suspect& first = verdict.suspects.front();
  return fmt::format("The program suspects: {}, {}.", suspect_name(first),
                     percent_text(first.probability));
}

std::string truth_words(const DemoTruth& truth) {
  return fmt::format("In truth: {}, {}.", truth.component, truth.fault);
}

bool is_the_part(const Analysis& analysis, const Suspect& suspect, const DemoTruth& truth) {
  if (suspect.component == truth.component) return true;
  // What the profile calls the part may be wider: "bracket, shield or panel".
  const auto& all = analysis.verdict.suspects;
  const auto named = std::ranges::find(all, truth.suspect, &Suspect::source);
  return !truth.suspect.empty() && named != all.end() && named->component == suspect.component;
}

AnswerCheck::Kind judge(const Analysis& analysis, const DemoTruth& truth) {
  using Kind = AnswerCheck::Kind;
  if (truth.repaired) return Kind::mended;
  if (analysis.verdict.suspects.empty()) return Kind::no_suspect;
  const Suspect& first = analysis.verdict.suspects.front();
  if (first.source.empty()) return Kind::differs;
  const bool part = is_the_part(analysis, first, truth);
  if (truth.suspect.empty()) return part ? Kind::agrees : Kind::differs;
  if (first.source == truth.suspect) return Kind::agrees;
  return part ? Kind::part_agrees : Kind::differs;
}

std::string judgement_words(AnswerCheck::Kind kind, double chance) {
  using Kind = AnswerCheck::Kind;
  constexpr double sure = 0.9;
  switch (kind) {
    case Kind::truth_unknown:
      return "Nobody wrote down what was really at fault here.";
    case Kind::mended:
      return "The fault was mended before these takes: there is none left to find.";
    case Kind::no_suspect:
      return "The program did not find it.";
    case Kind::agrees:
      return chance >= sure ? "The program names the true one."
                            : "The program names the true one, but is not sure of it yet.";
    case Kind::part_agrees:
      return fmt::format("The program names the right part, but not what howls in it: that got {}.",
                         percent_text(chance));
    case Kind::differs:
      break;
  }
  return fmt::format("The program is wrong: it gave the true one {}.", percent_text(chance));
}

}  // namespace

std::string_view lesson_of(Step step) { return kLessons.at(static_cast<std::size_t>(step)); }

bool is_answer_hidden(const DeskState& state) {
  return state.settings.class_mode && state.view.answer_hidden;
}

std::vector<std::string> listed_takes(const DeskState& state) {
  std::vector<std::string> ids;
  if (!state.opened) return ids;
  std::vector<Take> takes = state.opened->value.takes;
  const auto rpm = [&](const Take& take) {
    const Analysis* const analysis = state.analysis();
    const TakeResult* const result = analysis ? find_take(*analysis, take.id) : nullptr;
    return result == nullptr || result->engine_off ? 0.0 : result->rpm_min;
  };
  if (is_answer_hidden(state))
    std::ranges::stable_sort(takes, {},
                             [&](const Take& take) { return std::pair(take.point, rpm(take)); });
  for (const Take& take : takes) ids.push_back(take.id);
  return ids;
}

std::vector<std::size_t> listed_tests(const DeskState& state) {
  std::vector<std::size_t> places;
  if (state.analysis() == nullptr) return places;
  const std::vector<NextTest>& tests = state.analysis()->verdict.next_tests;
  for (std::size_t i = 0; i < tests.size(); ++i) places.push_back(i);
  if (is_answer_hidden(state))
    std::ranges::stable_sort(places, {}, [&](std::size_t i) { return tests[i].test; });
  return places;
}

std::vector<PossibleSource> possible_sources(const Profile& profile) {
  std::vector<PossibleSource> all;
  for (const Source& source : profile.sources)
    all.push_back({source.name, source.component,
                   std::string(std::visit(TurnedBy{}, source.turning)) + where_it_howls(source)});
  std::ranges::sort(all, {}, &PossibleSource::name);
  return all;
}

AnswerCheck check_answer(const Analysis& analysis, const std::optional<DemoTruth>& truth) {
  AnswerCheck check;
  check.tool = tool_words(analysis);
  if (truth) {
    check.kind = judge(analysis, *truth);
    check.chance_of_truth = chance_of(analysis, *truth);
    check.truth = truth_words(*truth);
  }
  check.judgement = judgement_words(check.kind, check.chance_of_truth);
  return check;
}

}  // namespace howl::desk
