#include "ui/state/steps.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "src/analysis/new_howls.h"
#include "src/percent_text.h"
#include "src/report/finding.h"

namespace howl::desk {
namespace {

struct StepWords {
  std::string_view name;
  std::string_view key;
  std::string_view asks;
};
constexpr std::array<StepWords, kSteps> kStepWords{{
    {"Complaint", "complaint", "What is complained of, and what is known"},
    {"Points", "points", "Where to put the probe"},
    {"Record", "record", "Record, and see how well it went"},
    {"Listen", "listen", "What is in the sound"},
    {"Pitch", "pitch", "What the pitch follows"},
    {"Where", "where", "Where it is loudest"},
    {"What", "what", "Which part howls"},
    {"Proof", "proof", "What settles it"},
    {"Report", "report", "What to hand over"},
}};
const StepWords& words_of(Step step) { return kStepWords.at(static_cast<std::size_t>(step)); }

std::string counted(std::size_t count, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

StepStatus complaint_status(const Case& value) {
  if (value.title.empty()) return {StepState::open, "no title yet"};
  if (value.evidence.empty()) return {StepState::done, "noted"};
  return {StepState::done, counted(value.evidence.size(), "finding", "findings")};
}

bool is_where_settled(const Analysis* analysis) {
  if (analysis == nullptr || analysis->ranking.empty()) return false;
  const Call call = analysis->ranking.front().call;
  return call == Call::clear || call == Call::likely;
}

/// Done where all are probed, or where those that are say enough.
StepStatus points_status(const Case& value, const Profile& profile, const Analysis* analysis) {
  const auto points = all_points(value, profile);
  const auto probed = static_cast<std::size_t>(std::ranges::count_if(
      points, [&](const ProbePoint& point) { return takes_at(value, point.name) > 0; }));
  const bool done = probed > 0 && (probed == points.size() || is_where_settled(analysis));
  return {done ? StepState::done : StepState::open,
          fmt::format("{} of {} probed", probed, points.size())};
}

bool is_bad(const TakeResult& take) {
  return std::ranges::any_of(take.quality, [](const QualityFinding& finding) {
    return finding.severity == Severity::spoilt;
  });
}

StepStatus record_status(const Case& value, const Analysis* analysis) {
  if (value.takes.empty()) return {StepState::open, "no takes yet"};
  const std::string all = counted(value.takes.size(), "take", "takes");
  if (analysis == nullptr) return {StepState::done, all};
  const auto bad = static_cast<std::size_t>(std::ranges::count_if(analysis->takes, is_bad));
  if (bad > 0) return {StepState::look, fmt::format("{} to repeat", bad)};
  return {StepState::done, all};
}

StepStatus listen_status(const Analysis& analysis) {
  if (strongest_howl(analysis) == nullptr) return {StepState::open, "no howl found"};
  return {StepState::done, counted(analysis.tones.size(), "tone", "tones")};
}

StepStatus pitch_status(const Analysis& analysis) {
  const ToneResult* const howl = strongest_howl(analysis);
  if (howl == nullptr) return {StepState::open, "no howl found"};
  const bool settled = howl->behaviour != Behaviour::undetermined;
  return {settled ? StepState::done : StepState::open,
          std::string(behaviour_name(howl->behaviour))};
}

StepStatus where_status(const Analysis& analysis) {
  if (analysis.ranking.empty()) return {StepState::open, "nothing ranked"};
  const RankedPoint& first = analysis.ranking.front();
  if (is_where_settled(&analysis)) return {StepState::done, first.point};
  return {StepState::open, first.call == Call::maybe ? "a slight lead" : "no clear leader"};
}

StepStatus what_status(const Analysis& analysis) {
  const Verdict& verdict = analysis.verdict;
  if (verdict.suspects.empty()) return {StepState::open, "no suspect"};
  const Suspect& first = verdict.suspects.front();
  if (!verdict.contradictions.empty()) return {StepState::look, "findings disagree"};
  return {first.probability >= 0.9 ? StepState::done : StepState::open,
          fmt::format("{} for one", percent_text(first.probability))};
}

StepStatus proof_status(const Analysis& analysis) {
  const Verdict& verdict = analysis.verdict;
  if (verdict.state == Inquiry::enough)
    return {StepState::done, is_where_settled(&analysis) ? "enough is known" : "the part is known"};
  if (verdict.state == Inquiry::not_by_sound) return {StepState::look, "not by sound"};
  return {StepState::open, counted(verdict.next_tests.size(), "test left", "tests left")};
}

StepStatus report_status(const Analysis& analysis) {
  return {StepState::open, strongest_howl(analysis) != nullptr ? "ready" : "little to report"};
}

}  // namespace

StepStatus compared_status(const Comparison& comparison) {
  if (std::ranges::any_of(comparison.tones, is_new_howl)) return {StepState::look, "a new howl"};
  switch (comparison.howl) {
    case ToneChange::gone:
      return {StepState::done, "the howl is gone"};
    case ToneChange::weaker:
      return {StepState::open, "weaker"};
    case ToneChange::unchanged:
      return {StepState::look, "as before"};
    case ToneChange::louder:
    case ToneChange::appeared:
      return {StepState::look, "louder than before"};
    case ToneChange::undetermined:
      break;
  }
  return {StepState::open, "not proven yet"};
}

std::string_view step_name(Step step) { return words_of(step).name; }
std::string_view step_asks(Step step) { return words_of(step).asks; }
std::string_view step_key(Step step) { return words_of(step).key; }

std::optional<Step> step_of(std::string_view key) {
  for (const Step step : kAllSteps)
    if (step_key(step) == key) return step;
  return std::nullopt;
}

std::vector<ProbePoint> all_points(const Case& value, const Profile& profile) {
  std::vector<ProbePoint> points = profile.points;
  for (const ProbePoint& point : value.points)
    if (std::ranges::find(points, point.name, &ProbePoint::name) == points.end())
      points.push_back(point);
  return points;
}

std::size_t takes_at(const Case& value, std::string_view point) {
  return static_cast<std::size_t>(std::ranges::count_if(
      value.takes, [&](const Take& take) { return take.point == point && !take.background; }));
}

std::optional<std::string> next_unprobed(const Case& value, const Profile& profile) {
  for (const ProbePoint& point : all_points(value, profile))
    if (takes_at(value, point.name) == 0) return point.name;
  return std::nullopt;
}

bool probed_one_only(const Case& value) {
  std::set<std::string> probed;
  for (const Take& take : value.takes)
    if (!take.background) probed.insert(take.point);
  return probed.size() == 1;
}

std::array<StepStatus, kSteps> step_statuses(const Case& value, const Profile& profile,
                                             const Analysis* analysis) {
  const StepStatus waits{StepState::open, value.takes.empty() ? "needs takes" : "working …"};
  std::array<StepStatus, kSteps> all{complaint_status(value),
                                     points_status(value, profile, analysis),
                                     record_status(value, analysis),
                                     waits,
                                     waits,
                                     waits,
                                     waits,
                                     waits,
                                     waits};
  if (analysis == nullptr || analysis->takes.empty()) return all;
  all[3] = listen_status(*analysis);
  all[4] = pitch_status(*analysis);
  all[5] = where_status(*analysis);
  all[6] = what_status(*analysis);
  all[7] = proof_status(*analysis);
  all[8] = report_status(*analysis);
  return all;
}

}  // namespace howl::desk
