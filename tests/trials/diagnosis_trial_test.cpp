#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <functional>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "src/analysis/analyse.h"
#include "src/demo/blind_case.h"
#include "src/demo/demo_take.h"
#include "src/profile/load_tests.h"
#include "src/reasoning/reason.h"
#include "tests/trials/perfect_ear.h"
#include "tests/trials/trial_size.h"

// The whole way from sound to suspect on random vehicles whose fault is known: recipe, audio,
// analysis, reasoning. Every source of the profile is at fault in turn, and now and then something
// that the profile does not know.

using namespace howl;

namespace {

SpeedCurve speed_of(const RecipeTakes& plan, const DemoTake& take) {
  if (plan.written == SpeedWritten::tacho)
    return SpeedCurve::through(
        [&] {
          std::vector<SpeedPoint> points;
          for (double t = 0.0; t <= plan.seconds; t += 0.05)
            points.push_back({Seconds(t), take.truth.at(Seconds(t))});
          return points;
        }(),
        0.0005);
  return SpeedCurve::through(take.written, plan.written == SpeedWritten::log ? 0.003 : 0.005);
}

TakeAudio audio_of(const Recipe& recipe, const PlannedTake& planned, std::size_t index) {
  const RecipeTakes& plan = recipe.takes[planned.entry];
  DemoTake made = synthesise_take(recipe, index, recipe.seed);
  TakeAudio take;
  take.id = "t" + std::to_string(index + 1);
  take.point = planned.point;
  take.load = plan.load;
  take.road_speed_kmh = plan.road_speed_kmh;
  take.sample_rate = made.sample_rate;
  take.seconds = static_cast<double>(made.samples.size()) / made.sample_rate;
  take.speed = speed_of(plan, made);
  take.speed_source = "entered";
  take.lag_sigma = plan.written == SpeedWritten::log ? 0.15 : 0.0;
  const auto samples = std::make_shared<std::vector<float>>(std::move(made.samples));
  take.stream = [samples](const std::function<void(std::span<const float>)>& to) { to(*samples); };
  return take;
}

Analysis heard(const BlindCase& blind) {
  std::vector<TakeAudio> takes;
  const std::vector<PlannedTake> planned = planned_takes(blind.recipe);
  for (std::size_t i = 0; i < planned.size(); ++i)
    takes.push_back(audio_of(blind.recipe, planned[i], i));
  return analyse_takes(std::move(takes), blind.recipe.engine.lines.cylinders, {},
                       [](double, std::string_view) {});
}

Verdict judged(const BlindCase& blind, const Profile& profile,
               const std::vector<WorkshopFact>& facts) {
  std::vector<std::string> points;
  for (const ProbePoint& point : blind.recipe.points) points.push_back(point.name);
  return reason(heard(blind), {profile, facts, blind.facts, points});
}

/// Every source alike, because each is at fault in turn.
Profile fair(Profile profile) {
  for (Source& source : profile.sources) source.how_often = 1.0;
  return profile;
}

std::string true_name(const BlindCase& blind, const Profile& profile) {
  return blind.culprit ? profile.sources[*blind.culprit].name : std::string();
}

std::vector<Profile> profiles_with_sources() {
  std::vector<Profile> profiles;
  for (Profile& profile : list_profiles())
    if (profile.sources.size() > 3) profiles.push_back(fair(std::move(profile)));
  return profiles;
}

struct Tally {
  std::size_t cases{};
  std::size_t judged{};
  std::size_t top{};
  std::size_t top_two{};
  std::size_t component{};
  std::size_t confident{};
  std::size_t confident_wrong{};
  double confident_doubt{};  ///< how many of them should be wrong, by what was said
  double brier{};            ///< of the top suspect's chance
  std::array<std::size_t, 10> in_bin{};
  std::array<double, 10> chance_in_bin{};
  std::array<std::size_t, 10> right_in_bin{};
};

void count(Tally& tally, const BlindCase& blind, const Profile& profile, const Verdict& verdict) {
  ++tally.cases;
  if (verdict.suspects.empty()) return;
  ++tally.judged;
  const std::string truth = true_name(blind, profile);
  const Suspect& first = verdict.suspects.front();
  const bool right = first.source == truth;
  tally.top += right ? 1U : 0U;
  tally.top_two += right || verdict.suspects[1].source == truth ? 1U : 0U;
  const std::string component =
      blind.culprit ? profile.sources[*blind.culprit].component : verdict.suspects.back().component;
  tally.component += right || first.component == component ? 1U : 0U;
  if (first.probability > 0.9) {
    ++tally.confident;
    tally.confident_doubt += 1.0 - first.probability;
    tally.confident_wrong += right ? 0U : 1U;
  }
  tally.brier += std::pow(first.probability - (right ? 1.0 : 0.0), 2);
  const auto bin = std::min<std::size_t>(9, static_cast<std::size_t>(10.0 * first.probability));
  ++tally.in_bin[bin];
  tally.chance_in_bin[bin] += first.probability;
  tally.right_in_bin[bin] += right ? 1U : 0U;
}

std::string shown(const Tally& tally) {
  std::string text =
      "cases " + std::to_string(tally.cases) + ", with a howl " + std::to_string(tally.judged) +
      ", top right " + std::to_string(tally.top) + ", in top two " + std::to_string(tally.top_two) +
      ", component right " + std::to_string(tally.component) + ", over 90 % " +
      std::to_string(tally.confident) + ", of them wrong " + std::to_string(tally.confident_wrong) +
      ", Brier " + std::to_string(tally.brier / static_cast<double>(tally.judged));
  for (std::size_t b = 0; b < 10; ++b)
    if (tally.in_bin[b] > 0)
      text +=
          "\n  said " +
          std::to_string(100.0 * tally.chance_in_bin[b] / static_cast<double>(tally.in_bin[b])) +
          " %: right " + std::to_string(tally.right_in_bin[b]) + " of " +
          std::to_string(tally.in_bin[b]);
  return text;
}

}  // namespace

namespace {

bool on_the_road(const BlindCase& blind) {
  return std::holds_alternative<RoadDrive>(blind.recipe.culprit().kind);
}

/// The same vehicle with every test done that is missing: all points, loads and facts, a tacho.
BlindCase with_everything(BlindCase blind, const Profile& profile,
                          const std::vector<WorkshopFact>& facts) {
  std::set<std::string> done;
  for (const PlannedTake& take : planned_takes(blind.recipe)) {
    done.insert("point:" + take.point);
    for (const auto& [key, value] : blind.recipe.takes[take.entry].load) done.insert("load:" + key);
  }
  for (const auto& [key, value] : blind.facts) done.insert("fact:" + key);
  std::vector<std::string> tests;
  for (const ProbePoint& point : profile.points) tests.push_back("point:" + point.name);
  for (const LoadTest& test : load_tests())
    if (!test.vehicle_moves) tests.push_back("load:" + test.key);
  for (const WorkshopFact& fact : facts) tests.push_back("fact:" + fact.key);
  if (!on_the_road(blind)) tests.emplace_back("speed:tacho");
  for (const std::string& test : tests)
    if (!done.contains(test)) blind = with_test_done(blind, profile, facts, test);
  return blind;
}

/// Not more confident answers are wrong than what was said of them lets expect, but for chance.
void require_honest(const Tally& tally) {
  const double expected = tally.confident_doubt;
  CHECK(static_cast<double>(tally.confident_wrong) <= expected + 3.0 * std::sqrt(expected) + 1.0);
}

/// What was to be heard, and how sure a perfect ear would be of it.
std::string truth_told(const Profile& profile, const BlindCase& blind,
                       const std::vector<WorkshopFact>& facts) {
  const auto perfect =
      perfect_ear::likeliest(perfect_ear::perfect_posterior(blind, profile, facts));
  const std::string name =
      perfect.place < profile.sources.size() ? profile.sources[perfect.place].name : "";
  constexpr std::array<std::string_view, 5> laws{"crank", "belt", "road", "free", "rings"};
  const perfect_ear::Heard heard = perfect_ear::heard_of(blind);
  return fmt::format("truth '{}' ({}, {:.1f} Hz, order {:.3f}), a perfect ear {:.2f} '{}'",
                     true_name(blind, profile), heard.law ? laws.at(*heard.law) : "law unknown",
                     heard.hertz, heard.hertz / heard.crank_hertz, perfect.chance, name);
}

std::string told(std::uint64_t seed, const Profile& profile, const BlindCase& blind,
                 const std::vector<WorkshopFact>& facts, const Verdict& verdict) {
  const std::string truth = true_name(blind, profile);
  std::string line = std::to_string(seed) + " " + profile.name + " " +
                     truth_told(profile, blind, facts) + " takes " +
                     std::to_string(planned_takes(blind.recipe).size()) + " howl " +
                     verdict.about_words;
  for (const Suspect& s : verdict.suspects)
    line += "\n    " + std::to_string(s.probability) + " " + s.source;
  for (const Suspect& s : verdict.suspects)
    if (s.source == truth || &s == &verdict.suspects.front())
      for (const EvidenceItem& item : s.evidence)
        line += "\n        " + s.source + ": " + std::to_string(item.weight_db) + " " + item.id +
                ": " + item.text;
  return line;
}

enum class Recorded { as_drawn, everything };

/// Judges the trial's vehicles in turn; one in so many has a fault that is not listed.
Tally diagnosed(std::uint64_t count_of_cases, Recorded recorded) {
  const std::vector<Profile> profiles = profiles_with_sources();
  REQUIRE(!profiles.empty());
  const std::vector<WorkshopFact> facts = load_workshop_facts();
  Tally tally;
  for (std::uint64_t seed = first_seed(); seed < first_seed() + count_of_cases; ++seed) {
    const Profile& profile = profiles[seed % profiles.size()];
    const std::size_t turn = (seed / profiles.size()) % profile.sources.size();
    Random random(seed);
    const bool listed = draw_uniform(random) > kChanceOfTheRest;
    BlindCase blind =
        make_blind_case(profile, facts, listed ? std::optional(turn) : std::nullopt, seed);
    if (recorded == Recorded::everything) blind = with_everything(std::move(blind), profile, facts);
    const Verdict verdict = judged(blind, profile, facts);
    count(tally, blind, profile, verdict);
    if (trial_talks()) MESSAGE(told(seed, profile, blind, facts, verdict));
  }
  MESSAGE(shown(tally));
  return tally;
}

}  // namespace

TEST_CASE("trial: from sound to suspect") {
  const Tally tally = diagnosed(trial_size(400, 50), Recorded::as_drawn);
  require_honest(tally);
  CHECK(tally.confident_wrong <= 1 + tally.confident / 25);
  CHECK(static_cast<double>(tally.top) >= 0.6 * static_cast<double>(tally.judged));
}

TEST_CASE("trial: from sound to suspect, with nothing left to record or look up") {
  require_honest(diagnosed(trial_size(96, 32), Recorded::everything));
}

namespace {

constexpr std::size_t kSteps = 3;

/// What was known of the truth before the tests and after each of them, and what they took.
struct Growth {
  std::array<double, kSteps + 1> chance_of_truth{};
  double minutes{};
};

double chance_of(const Verdict& verdict, const std::string& source) {
  const auto suspect = std::ranges::find(verdict.suspects, source, &Suspect::source);
  return suspect == verdict.suspects.end() ? 0.0 : suspect->probability;
}

using Pick = std::function<const NextTest&(const std::vector<NextTest>&)>;

Growth grown(BlindCase blind, const Profile& profile, const std::vector<WorkshopFact>& facts,
             Verdict verdict, const Pick& pick) {
  Growth growth;
  const std::string truth = true_name(blind, profile);
  growth.chance_of_truth[0] = chance_of(verdict, truth);
  for (std::size_t step = 1; step <= kSteps; ++step) {
    if (!verdict.next_tests.empty() && verdict.state == Inquiry::go_on) {
      const NextTest test = pick(verdict.next_tests);
      growth.minutes += test.minutes;
      blind = with_test_done(blind, profile, facts, test.id);
      verdict = judged(blind, profile, facts);
    }
    growth.chance_of_truth[step] = chance_of(verdict, truth);
  }
  return growth;
}

void add(Growth& sum, const Growth& one) {
  for (std::size_t step = 0; step <= kSteps; ++step)
    sum.chance_of_truth[step] += one.chance_of_truth[step];
  sum.minutes += one.minutes;
}

std::string shown(const std::string& name, const Growth& sum, double cases) {
  std::string text = name + ": mean chance of the true source";
  for (const double chance : sum.chance_of_truth) text += " " + std::to_string(chance / cases);
  return text + " after 0, 1, 2, 3 tests, " + std::to_string(sum.minutes / cases) + " minutes";
}

}  // namespace

TEST_CASE("trial: the test proposed next against one of the promising tests at random") {
  const std::vector<Profile> profiles = profiles_with_sources();
  const std::vector<WorkshopFact> facts = load_workshop_facts();
  Growth proposed;
  Growth random_ones;
  const std::uint64_t cases = trial_size(96, 48);
  for (std::uint64_t i = 0; i < cases; ++i) {
    const std::uint64_t seed = first_seed() + 5000 + i;
    const Profile& profile = profiles[seed % profiles.size()];
    const BlindCase blind =
        make_blind_case(profile, facts, (seed / profiles.size()) % profile.sources.size(), seed);
    const Verdict start = judged(blind, profile, facts);
    Random random(seed);
    add(proposed, grown(blind, profile, facts, start,
                        [](const auto& tests) -> const NextTest& { return tests.front(); }));
    add(random_ones, grown(blind, profile, facts, start, [&](const auto& tests) -> const NextTest& {
          const double at = draw_uniform(random) * static_cast<double>(tests.size());
          return tests[std::min(tests.size() - 1, static_cast<std::size_t>(at))];
        }));
  }
  const auto count = static_cast<double>(cases);
  MESSAGE(shown("proposed", proposed, count));
  MESSAGE(shown("at random", random_ones, count));
  // What a case's chance changes by spreads by less than 0.4, as 0 and 1 bound it and most cases
  // stay on their side: three standard errors of the sum.
  constexpr double spread = 0.4;
  const double gained = proposed.chance_of_truth.back() - proposed.chance_of_truth.front();
  CHECK(gained > -3.0 * spread * std::sqrt(count));
}
