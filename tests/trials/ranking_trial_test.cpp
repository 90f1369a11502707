#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <string>
#include <vector>

#include "dsp/statistics.h"
#include "src/analysis/band_levels.h"
#include "src/analysis/ranking.h"
#include "src/demo/scene.h"
#include "tests/trials/trial_size.h"

// Random scenes with true differences of 0, 1, 3, 6 and 10 dB between 2 to 8 points, 1 to 4
// repeats, and a hand whose pressure changes the gain by 1 to 3 dB from take to take.

using namespace howl;

namespace {

const std::uint64_t kScenes = trial_size(200, 4);

struct Opened {
  std::vector<TakeAudio> takes;
  AnalysisRequest::Band band;
};

Opened open(const RankingScene& scene) {
  Opened opened{{}, {AnalysisRequest::Band::Unit::hertz, scene.band_hz}};
  for (const RankingScene::PointTake& from : scene.takes) {
    TakeAudio take;
    take.id = fmt::format("t{}", opened.takes.size() + 1);
    take.point = fmt::format("{}", from.point);
    take.sample_rate = scene.sample_rate;
    take.seconds = static_cast<double>(from.samples.size()) / scene.sample_rate;
    take.speed = scene.written;
    take.speed_source = "entered";
    take.stream = [&from](const std::function<void(std::span<const float>)>& to) {
      to(from.samples);
    };
    opened.takes.push_back(std::move(take));
  }
  return opened;
}

/// True level of each point in the band: every take with its hand's gain taken off, averaged, plus
/// what the mean energy over all pressures lies above the typical pressure (σ²·ln 10/20, log-normal
/// mean).
std::map<std::string, double> true_levels(const RankingScene& scene, const Opened& opened) {
  std::map<std::string, std::vector<double>> powers;
  for (std::size_t i = 0; i < opened.takes.size(); ++i)
    powers[opened.takes[i].point].push_back(
        mean(band_blocks(opened.takes[i], opened.band).block_power) /
        std::pow(10.0, scene.takes[i].hand_db / 10.0));
  const double sd = scene.hand_pressure_sd_db;
  std::map<std::string, double> levels;
  for (const auto& [point, own] : powers)
    levels[point] = full_scale_level(mean(own)).value + sd * sd * std::numbers::ln10 / 20.0;
  return levels;
}

struct Count {
  int of = 0;
  int yes = 0;
  void add(bool is) {
    ++of;
    yes += is ? 1 : 0;
  }
  double share() const { return static_cast<double>(yes) / of; }
};

}  // namespace

TEST_CASE("trial: ranking of probe points with known differences") {
  Count level_covered;
  Count difference_covered;
  Count equal_called_equal;
  Count top_is_loudest;
  Count clear_is_right;
  for (std::uint64_t seed = 1; seed <= kScenes; ++seed) {
    const RankingScene scene = make_ranking_scene(seed);
    const Opened opened = open(scene);
    const Ranking ranking = rank_points(opened.takes, opened.band, std::nullopt);
    const auto truth = true_levels(scene, opened);
    const auto nominal = [&](const RankedPoint& p) { return scene.level_db[std::stoul(p.point)]; };
    const RankedPoint& top = ranking.points.front();
    const double loudest = *std::max_element(scene.level_db.begin(), scene.level_db.end());
    top_is_loudest.add(nominal(top) > loudest - 1.5);
    if (top.call == Call::clear || top.call == Call::likely)
      clear_is_right.add(nominal(top) == loudest);
    const auto rivals = std::count(scene.level_db.begin(), scene.level_db.end(), loudest);
    if (rivals > 1) equal_called_equal.add(top.call == Call::no_difference);
    for (const RankedPoint& p : ranking.points) {
      level_covered.add(p.ci95_db->contains(truth.at(p.point)));
      if (p.point != top.point)
        difference_covered.add(
            p.below_loudest_ci95_db->contains(truth.at(top.point) - truth.at(p.point)));
    }
  }
  MESSAGE(fmt::format(
      "95 % intervals hold the true level in {:.1f} % of {} points, the true difference in "
      "{:.1f} % of {} (simultaneous); equals called no difference in {:.1f} % of {} scenes; "
      "top within 1 dB of the loudest in {:.1f} %; likely or clear calls right in {:.1f} % of {}",
      100 * level_covered.share(), level_covered.of, 100 * difference_covered.share(),
      difference_covered.of, 100 * equal_called_equal.share(), equal_called_equal.of,
      100 * top_is_loudest.share(), 100 * clear_is_right.share(), clear_is_right.of));
  CHECK(level_covered.share() >= 0.92);
  CHECK(level_covered.share() <= 0.98);
  CHECK(difference_covered.share() >= 0.95);
  CHECK(equal_called_equal.share() >= 0.95);
  CHECK(clear_is_right.share() >= 0.98);
}
