#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <vector>

#include "src/demo/blind_case.h"
#include "tests/trials/perfect_ear.h"
#include "tests/trials/trial_size.h"

using namespace howl;

namespace {

struct Score {
  std::size_t cases{};
  std::size_t top{};
  std::size_t top_two{};
  double said{};  ///< sum of the top chances: what being right is expected to be
};

void count_perfect(Score& score, const BlindCase& blind, const std::vector<double>& log_posterior) {
  const std::size_t truth = blind.culprit.value_or(log_posterior.size() - 1);
  const auto better = std::ranges::count_if(
      log_posterior, [&](double each) { return each > log_posterior[truth]; });
  ++score.cases;
  score.top += better == 0 ? 1U : 0U;
  score.top_two += better <= 1 ? 1U : 0U;
  score.said += perfect_ear::likeliest(log_posterior).chance;
}

}  // namespace

TEST_CASE("trial: what a perfect ear could tell of the blind trial's vehicles") {
  std::vector<Profile> profiles;
  for (Profile& profile : list_profiles())
    if (profile.sources.size() > 3) profiles.push_back(std::move(profile));
  const std::vector<WorkshopFact> facts = load_workshop_facts();
  Score score;
  const std::uint64_t cases = trial_size(4000, 10);
  for (std::uint64_t seed = first_seed(); seed < first_seed() + cases; ++seed) {
    const Profile& profile = profiles[seed % profiles.size()];
    Random random(seed);
    const bool listed = draw_uniform(random) > kChanceOfTheRest;
    const std::size_t turn = (seed / profiles.size()) % profile.sources.size();
    const BlindCase blind =
        make_blind_case(profile, facts, listed ? std::optional(turn) : std::nullopt, seed);
    count_perfect(score, blind, perfect_ear::perfect_posterior(blind, profile, facts));
  }
  const auto all = static_cast<double>(score.cases);
  MESSAGE(fmt::format("cases {}, top right {:.1f} %, in the top two {:.1f} %, said {:.1f} %",
                      score.cases, 100.0 * static_cast<double>(score.top) / all,
                      100.0 * static_cast<double>(score.top_two) / all, 100.0 * score.said / all));
  // An observer who knows the distributions is right as often as it says, but for chance: else the
  // model here is not the one that the vehicles are drawn from.
  const double spread = std::sqrt(0.25 / all);
  CHECK(static_cast<double>(score.top) / all ==
        doctest::Approx(score.said / all).epsilon(4 * spread));
}
