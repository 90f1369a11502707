#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <string>
#include <vector>

#include "dsp/statistics.h"
#include "src/analysis/ranking.h"
#include "src/analysis/reference_channel.h"
#include "tests/src/analysis/synth_takes.h"
#include "tests/trials/trial_size.h"

// Random scenes with known truth for levels over a background, and for a source that drifts while a
// reference microphone listens. A hand's pressure changes the gain of every take by 2 dB (standard
// deviation), of background takes too.

using namespace howl;
using namespace howl::test;

namespace {

constexpr double kHandSdDb = 2.0;
const AnalysisRequest::Band kBand{AnalysisRequest::Band::Unit::hertz, {280.0, 320.0}};

/// What the mean energy over all pressures lies above the typical pressure (log-normal mean).
constexpr double kHandMeanDb = kHandSdDb * kHandSdDb * std::numbers::ln10 / 20.0;

std::vector<float> scaled(std::vector<float> samples, double gain_db) {
  for (float& sample : samples) sample *= static_cast<float>(amplitude_of(gain_db));
  return samples;
}

/// Noise whose level re full-scale sine between 280 and 320 Hz is `level_db`.
std::vector<float> band_level_noise(std::size_t samples, double level_db, Random& random) {
  const double whole_db = level_db + 10.0 * std::log10(0.5 * kTakeRate / kBand.range.width());
  return synth_noise(samples, amplitude_of(whole_db) / std::numbers::sqrt2, random);
}

struct Count {
  int of = 0;
  int yes = 0;
  void add(bool is) {
    ++of;
    yes += is ? 1 : 0;
  }
  double share() const { return of > 0 ? static_cast<double>(yes) / of : 0.0; }
};

}  // namespace

TEST_CASE("trial: levels over a background of known distance") {
  // Five points, the whole 0, 3, 6, 10 and 20 dB over the background; two takes and two background
  // takes at each.
  constexpr std::array<double, 5> over_background{0.0, 3.0, 6.0, 10.0, 20.0};
  const std::uint64_t scenes = trial_size(150);
  constexpr std::size_t samples = 32'000;
  std::array<Count, 5> bounded;
  std::array<Count, 5> covered;
  std::array<std::vector<double>, 5> errors;
  Count bound_holds;
  Count called_right;
  for (std::uint64_t seed = 1; seed <= scenes; ++seed) {
    Random random(seed);
    const auto hand = [&] { return kHandSdDb * draw_normal(random); };
    std::vector<TakeAudio> takes;
    std::vector<TakeAudio> background_takes;
    std::array<double, 5> own_db{};
    for (std::size_t p = 0; p < over_background.size(); ++p) {
      const double noise_db = -70.0 + 6.0 * draw_uniform(random);
      const double own = std::pow(10.0, over_background[p] / 10.0) - 1.0;
      own_db[p] = own > 0.0 ? noise_db + 10.0 * std::log10(own) : -300.0;
      for (int repeat = 0; repeat < 2; ++repeat) {
        const std::string id = fmt::format("t{}{}", p, repeat);
        takes.push_back(
            hold_of(id, std::to_string(p),
                    scaled(with(band_level_noise(samples, noise_db, random),
                                tone(samples, 300.0, own_db[p], draw_uniform(random) * 6.0)),
                           hand())));
        background_takes.push_back(
            background(hold_of(id + "b", std::to_string(p),
                               scaled(band_level_noise(samples, noise_db, random), hand()))));
      }
    }
    const Ranking ranking = rank_points(takes, kBand, std::nullopt, {background_takes, {}});
    const RankedPoint& top = ranking.points.front();
    const double loudest = *std::max_element(own_db.begin(), own_db.end());
    if (top.call != Call::no_difference)
      called_right.add(own_db[std::stoul(top.point)] > loudest - 3.0);
    for (const RankedPoint& point : ranking.points) {
      const auto p = std::stoul(point.point);
      const double truth = own_db[p] + kHandMeanDb;
      bounded[p].add(point.upper_bound);
      if (point.upper_bound) {
        bound_holds.add(truth <= point.ci95_db->high);
        continue;
      }
      covered[p].add(point.ci95_db->contains(truth) ||
                     (std::isinf(point.ci95_db->low) && truth <= point.ci95_db->high));
      if (over_background[p] > 0.0) errors[p].push_back(*point.level_db - truth);
    }
  }
  for (std::size_t p = 0; p < over_background.size(); ++p)
    MESSAGE(fmt::format(
        "{:.0f} dB over background: upper bound in {:.0f} % of {}; else the "
        "interval holds the truth in {:.1f} %, bias {:+.2f} dB (median {:+.2f})",
        over_background[p], 100 * bounded[p].share(), bounded[p].of, 100 * covered[p].share(),
        errors[p].empty() ? 0.0 : mean(errors[p]), errors[p].empty() ? 0.0 : median(errors[p])));
  MESSAGE(fmt::format(
      "upper bounds: the truth lies below the interval's end in {:.1f} % of {}; "
      "calls of a loudest right in {:.1f} % of {}",
      100 * bound_holds.share(), bound_holds.of, 100 * called_right.share(), called_right.of));
  for (const std::size_t p : {2U, 3U, 4U}) CHECK(covered[p].share() >= 0.92);
  CHECK(bounded[0].share() >= 0.8);
  CHECK(bounded[4].share() == 0.0);
  CHECK(bound_holds.share() >= 0.95);
  CHECK(called_right.share() >= 0.97);
  for (const std::size_t p : {3U, 4U}) CHECK(std::abs(mean(errors[p])) <= 0.5);
  CHECK(std::abs(median(errors[2])) <= 0.75);
}

TEST_CASE("trial: a source that drifts between takes, heard by a reference") {
  // Four points 0, 3, 6 and 10 dB below the loudest, twice each; the source is anywhere within
  // ±6 dB of its level in each take, the reference 20 dB over its own noise or 6 dB.
  constexpr std::array<double, 4> below{0.0, 3.0, 6.0, 10.0};
  const std::uint64_t scenes = trial_size(120);
  constexpr std::size_t samples = 32'000;
  for (const double reference_snr_db : {20.0, 6.0}) {
    Count right_with;
    Count right_without;
    Count level_covered;
    Count difference_covered;
    Count called_right;
    std::vector<double> widths_with;
    std::vector<double> widths_without;
    int called_without = 0;
    for (std::uint64_t seed = 1; seed <= scenes; ++seed) {
      Random random(1000 + seed);
      std::vector<TakeAudio> takes;
      std::vector<std::optional<ReferenceReading>> readings;
      double source_power = 0.0;
      for (std::size_t i = 0; i < 2 * below.size(); ++i) {
        const std::size_t p = i % below.size();
        const double drift_db = 12.0 * draw_uniform(random) - 6.0;
        source_power += std::pow(10.0, drift_db / 10.0) / (2.0 * below.size());
        const auto source = tone(samples, 300.0, -40.0 + drift_db, 6.0 * draw_uniform(random));
        takes.push_back(hold_of(
            fmt::format("t{}", i), std::to_string(p),
            scaled(with(band_level_noise(samples, -65.0, random), source, -below[p]),
                   kHandSdDb * draw_normal(random)),
            with(band_level_noise(samples, -50.0 - reference_snr_db, random), source, -10.0)));
        readings.push_back(read_reference(takes.back(), kBand));
      }
      const Ranking with_reference = rank_points(takes, kBand, std::nullopt, {{}, readings});
      const Ranking without = rank_points(takes, kBand, std::nullopt);
      right_with.add(with_reference.points.front().point == "0");
      right_without.add(without.points.front().point == "0");
      if (with_reference.points.front().call != Call::no_difference)
        called_right.add(with_reference.points.front().point == "0");
      called_without += without.points.front().call != Call::no_difference ? 1 : 0;
      const double source_db = 10.0 * std::log10(source_power);
      const auto top = std::stoul(with_reference.points.front().point);
      for (const RankedPoint& point : with_reference.points) {
        const auto p = std::stoul(point.point);
        const double truth = -40.0 + source_db - below[p] + kHandMeanDb;
        level_covered.add(point.ci95_db->contains(truth));
        if (p != top)
          difference_covered.add(point.below_loudest_ci95_db->contains(below[p] - below[top]));
        widths_with.push_back(point.ci95_db->width());
      }
      for (const RankedPoint& point : without.points)
        widths_without.push_back(point.ci95_db->width());
    }
    MESSAGE(fmt::format(
        "reference {:.0f} dB over its noise: loudest right in {:.0f} % (without it {:.0f} %); "
        "called in {} of {} scenes, right in {:.1f} % (without it called in {}); levels covered "
        "{:.1f} %, differences {:.1f} %; median interval {:.1f} dB (without it {:.1f} dB)",
        reference_snr_db, 100 * right_with.share(), 100 * right_without.share(), called_right.of,
        scenes, 100 * called_right.share(), called_without, 100 * level_covered.share(),
        100 * difference_covered.share(), median(widths_with), median(widths_without)));
    CHECK(right_with.share() >= right_without.share() + 0.15);
    CHECK(level_covered.share() >= 0.92);
    CHECK(difference_covered.share() >= 0.95);
    if (called_right.of > 0) CHECK(called_right.share() >= 0.95);
  }
}
