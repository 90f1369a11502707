#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "dsp/speed_from_sound.h"
#include "dsp/statistics.h"
#include "src/demo/engine_scene.h"
#include "tests/trials/bare_sweep.h"
#include "tests/trials/trial_size.h"

using namespace howl;

namespace {

enum class Knows { cylinders, cylinders_and_speed, nothing };

struct SpeedTally {
  std::uint64_t scenes{};
  std::uint64_t within_one_percent{};  ///< the likeliest hypothesis, whatever its probability
  std::uint64_t confident{};           ///< P ≥ kSpeedKnown
  std::uint64_t confident_wrong{};     ///< … and off by more than 2 %
  std::uint64_t confident_octave{};    ///< … by a factor of 1.8 to 2.2, either way
  std::vector<double> error;           ///< median over the take, of the confident ones
  std::uint64_t astray{};  ///< confident, and off by more than 3 % in over 2 % of the moments
  std::uint64_t moments{};
  std::uint64_t covered{};  ///< moments of confident right ones that hold the truth within 95 %
};

SpeedFromSoundParameters parameters_for(const EngineScene& scene, Knows knows, std::uint64_t seed) {
  SpeedFromSoundParameters parameters;
  if (knows != Knows::nothing) parameters.cylinders = scene.cylinders;
  if (knows != Knows::cylinders_and_speed) return parameters;
  // Believed speed: right to ten per cent, as two standard deviations.
  Random random(seed + 90'000U);
  const double factor = 1.0 + 0.05 * draw_normal(random);
  std::vector<SpeedPoint> believed;
  for (double t = 0.0; t <= scene.length.value; t += 1.0)
    believed.push_back({Seconds(t), scene.drilled.at(Seconds(t)) * factor});
  parameters.near = {SpeedCurve::through(believed, 0.05), 0.05};
  return parameters;
}

double typical_ratio(const SpeedHypothesis& heard, const EngineScene& scene) {
  std::vector<double> ratio;
  for (const HeardSpeed& h : heard.track) ratio.push_back(h.speed / scene.truth.at(h.time));
  return median(ratio);
}

/// Moments at which the speed is off by more than 3 %: on another branch.
double share_astray(const SpeedHypothesis& heard, const EngineScene& scene) {
  std::size_t astray = 0;
  for (const HeardSpeed& h : heard.track)
    if (std::abs(h.speed / scene.truth.at(h.time) - 1.0) > 0.03) ++astray;
  return static_cast<double>(astray) / static_cast<double>(heard.track.size());
}

void tell(const EngineScene& scene, const SpeedFromSound& found, std::uint64_t seed) {
  std::string line = "seed " + std::to_string(seed) + ": " + std::to_string(scene.cylinders) +
                     " cylinders, no engine " + std::to_string(found.no_engine);
  const std::size_t most = std::min<std::size_t>(4, found.hypotheses.size());
  for (const SpeedHypothesis& h : std::span(found.hypotheses).first(most)) {
    const double ratio = typical_ratio(h, scene);
    line += "\n    P " + std::to_string(h.probability) + " times " + std::to_string(ratio) +
            " as " + std::to_string(h.cylinders) + " cylinders at " + std::to_string(h.mean.value) +
            " rpm, firing " + std::to_string(h.firing_seen) + " of " +
            std::to_string(h.firing_possible);
  }
  MESSAGE(line);
}

void judge(const EngineScene& scene, const SpeedFromSound& found, SpeedTally& tally) {
  ++tally.scenes;
  if (found.hypotheses.empty()) return;
  const SpeedHypothesis& top = found.hypotheses.front();
  const double typical = typical_ratio(top, scene);
  const double error = std::abs(typical - 1.0);
  if (error < 0.01) ++tally.within_one_percent;
  if (found.known() == nullptr) return;
  ++tally.confident;
  if (share_astray(top, scene) > 0.02) ++tally.astray;
  tally.error.push_back(error);
  if (error > 0.02) {
    ++tally.confident_wrong;
    const double octave = std::max(typical, 1.0 / typical);
    if (octave > 1.8 && octave < 2.2) ++tally.confident_octave;
    return;
  }
  for (const HeardSpeed& h : top.track) {
    ++tally.moments;
    if (std::abs((h.speed - scene.truth.at(h.time)).value) < 1.96 * h.sigma) ++tally.covered;
  }
}

SpeedTally try_scenes(Knows knows, std::uint64_t count = trial_size(300, 20),
                      EngineScene (*make)(std::uint64_t) = make_engine_scene) {
  SpeedTally tally;
  for (std::uint64_t i = 0; i < count; ++i) {
    const std::uint64_t seed = first_seed() + i;
    const EngineScene scene = make(seed);
    const SpeedFromSound found =
        speed_from_sound([&](const auto& hear) { hear(std::span<const float>(scene.samples)); },
                         scene.sample_rate, parameters_for(scene, knows, seed));
    judge(scene, found, tally);
    if (trial_talks()) tell(scene, found, seed);
  }
  MESSAGE("scenes ", tally.scenes, ", likeliest within 1 % ", tally.within_one_percent,
          ", confident ", tally.confident, ", of them wrong ", tally.confident_wrong,
          " (an octave: ", tally.confident_octave, "; part of the time: ", tally.astray,
          "), median error ", tally.error.empty() ? 0.0 : 100.0 * median(tally.error),
          " %, 95 % intervals of ", tally.moments, " moments hold the truth in ",
          100.0 * static_cast<double>(tally.covered) / static_cast<double>(tally.moments), " %");
  return tally;
}

double share(std::uint64_t part, std::uint64_t whole) {
  return static_cast<double>(part) / static_cast<double>(whole);
}

/// One wrong in a small part of the trial is chance; the same share of all of it is not.
bool rarer_than(double limit, std::uint64_t wrong, std::uint64_t scenes) {
  return wrong <= 1 || share(wrong, scenes) < limit;
}

}  // namespace

TEST_CASE("trial: speed from sound, number of cylinders known") {
  const SpeedTally tally = try_scenes(Knows::cylinders);
  CHECK(share(tally.within_one_percent, tally.scenes) >= 0.85);
  // Sweeps in which the engine is not heard all the way are left open.
  CHECK(share(tally.confident, tally.scenes) >= 0.7);
  CHECK(median(tally.error) < 0.002);
  CHECK(rarer_than(0.01, tally.confident_octave, tally.scenes));
  CHECK(rarer_than(0.02, tally.confident_wrong, tally.scenes));
  CHECK(share(tally.covered, tally.moments) >= 0.9);
}

TEST_CASE("trial: speed from sound, cylinders known and a speed believed within 10 %") {
  const SpeedTally tally = try_scenes(Knows::cylinders_and_speed);
  CHECK(share(tally.within_one_percent, tally.scenes) >= 0.88);
  CHECK(share(tally.confident, tally.scenes) >= 0.85);
  CHECK(rarer_than(0.01, tally.confident_octave, tally.scenes));
  CHECK(rarer_than(0.02, tally.confident_wrong, tally.scenes));
}

TEST_CASE("trial: speed from sound, nothing known") {
  const SpeedTally tally = try_scenes(Knows::nothing);
  CHECK(share(tally.within_one_percent, tally.scenes) >= 0.7);
  // Six cylinders sound as three at twice the speed, eight as four: that often stays open.
  CHECK(share(tally.confident, tally.scenes) >= 0.4);
  CHECK(rarer_than(0.01, tally.confident_octave, tally.scenes));
  CHECK(rarer_than(0.02, tally.confident_wrong, tally.scenes));
}

TEST_CASE("trial: speed from sound, sweeps of engines whose lines stop short") {
  const SpeedTally tally = try_scenes(Knows::cylinders, trial_size(200), make_bare_sweep);
  // Most are too noisy to follow all the way, and are to be left open.
  CHECK(share(tally.confident, tally.scenes) >= 0.1);
  CHECK(rarer_than(0.02, tally.astray, tally.scenes));
}
