#include "src/demo/scene.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <functional>
#include <numbers>
#include <span>

#include "dsp/critical_band.h"
#include "dsp/synth.h"

using namespace howl;

namespace {

constexpr std::array all_kinds{PitchKind::locked, PitchKind::belt,     PitchKind::fixed,
                               PitchKind::road,   PitchKind::unlocked, PitchKind::steady_clip};

/// Mean square of a tone at `cycles` a turn of the given phase, Hann-weighted.
double tone_power(std::span<const float> samples, std::span<const double> turns, double cycles) {
  std::complex<double> sum;
  const auto count = static_cast<double>(samples.size());
  for (std::size_t n = 0; n < samples.size(); ++n) {
    const double hann =
        1.0 - std::cos(2.0 * std::numbers::pi * (static_cast<double>(n) + 0.5) / count);
    const double x = hann * static_cast<double>(samples[n]);
    sum += x * std::polar(1.0, -2.0 * std::numbers::pi * cycles * turns[n]);
  }
  return 2.0 * std::norm(sum / count);
}

/// Where between `low` and `high` the strongest line lies, to one part in 2000.
double strongest_between(std::span<const float> samples, std::span<const double> turns, double low,
                         double high) {
  double best = low;
  double most = 0.0;
  for (double cycles = low; cycles <= high; cycles *= 1.0005) {
    const double power = tone_power(samples, turns, cycles);
    if (power > most) {
      most = power;
      best = cycles;
    }
  }
  return best;
}

/// Whether a line stands at `cycles`, 10 dB above every place at least 0.4 % off.
bool stands_at(std::span<const float> samples, std::span<const double> turns, double cycles) {
  const double power = tone_power(samples, turns, cycles);
  return std::ranges::all_of(
      std::array{-0.016, -0.008, -0.004, 0.004, 0.008, 0.016},
      [&](double d) { return power > 10.0 * tone_power(samples, turns, cycles * (1.0 + d)); });
}

std::vector<double> crank_of(const SceneTake& take) {
  return crank_turns(take.truth, take.samples.size(), take.sample_rate);
}

std::vector<double> seconds_of(const SceneTake& take) {
  return phase_turns(std::vector<double>(take.samples.size(), 1.0), take.sample_rate);
}

}  // namespace

TEST_CASE("scenes: the same seed gives the same scene; takes and truth are as announced") {
  for (const PitchKind kind : all_kinds)
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
      const PitchScene scene = make_pitch_scene(kind, seed);
      CAPTURE(static_cast<int>(kind));
      CAPTURE(seed);
      CHECK(scene.tone_to_noise_db >= 3.0);
      CHECK(scene.tone_to_noise_db <= 30.0);
      CHECK(scene.cylinders >= 3);
      CHECK(scene.cylinders <= 8);
      CHECK(scene.slip.has_value() == (kind == PitchKind::belt));
      if (scene.slip) {
        CHECK(scene.slip->low > 0.004);
        CHECK(scene.slip->high < 0.022);
      }
      const std::size_t takes = scene.takes.size();
      if (kind == PitchKind::road)
        CHECK(takes == 5);
      else if (kind == PitchKind::steady_clip)
        CHECK(takes == 1);
      else
        CHECK((takes == 1 || (takes >= 4 && takes <= 6)));
      float peak = 0.0F;
      for (const SceneTake& take : scene.takes)
        for (const float x : take.samples) peak = std::max(peak, std::abs(x));
      CHECK(peak < 1.0F);
      CHECK(peak > 0.02F);
    }
  CHECK(make_pitch_scene(PitchKind::belt, 5).takes[0].samples ==
        make_pitch_scene(PitchKind::belt, 5).takes[0].samples);
}

TEST_CASE("scenes: what the technician has of the speed differs from the truth as stated") {
  std::vector<double> hold_errors;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const PitchScene scene = make_pitch_scene(PitchKind::fixed, seed);
    for (const SceneTake& take : scene.takes) {
      const Seconds end(static_cast<double>(take.samples.size()) / take.sample_rate);
      const double truth = take.truth.revolutions_at(end) - take.truth.revolutions_at(0.0_s);
      const double written = take.written.revolutions_at(end) - take.written.revolutions_at(0.0_s);
      if (scene.takes.size() > 1)
        hold_errors.push_back(written / truth - 1.0);
      else  // a log late by 0.1 s at the most, in a sweep that takes 10 s at least
        CHECK(std::abs(written / truth - 1.0) < 0.02);
    }
  }
  REQUIRE(hold_errors.size() > 50);
  CHECK(standard_deviation(hold_errors) == doctest::Approx(0.003).epsilon(0.3));
}

TEST_CASE("scenes: a locked tone lies at its order, a belt's below by the slip, in sweeps too") {
  int looked_at = 0;
  for (std::uint64_t seed = 1; seed <= 40 && looked_at < 8; ++seed) {
    const PitchScene locked = make_pitch_scene(PitchKind::locked, seed);
    if (locked.tone_to_noise_db < 15.0) continue;
    ++looked_at;
    CAPTURE(seed);
    const SceneTake& take = locked.takes.back();
    CHECK(stands_at(take.samples, crank_of(take), *locked.order));
  }
  CHECK(looked_at == 8);

  const auto is_clear = [](const PitchScene& s) {
    return s.tone_to_noise_db > 20.0 && s.takes.size() > 1;
  };
  looked_at = 0;
  for (std::uint64_t seed = 1; seed <= 60 && looked_at < 5; ++seed) {
    const PitchScene belt = make_pitch_scene(PitchKind::belt, seed);
    if (!is_clear(belt)) continue;
    ++looked_at;
    CAPTURE(seed);
    const SceneTake& take = belt.takes.back();
    const double order =
        strongest_between(take.samples, crank_of(take), 0.97 * *belt.order, 1.01 * *belt.order);
    CHECK(order < *belt.order * (1.0 - belt.slip->low + 0.0006));
    CHECK(order > *belt.order * (1.0 - belt.slip->high - 0.0006));
  }
  CHECK(looked_at == 5);
}

TEST_CASE("scenes: a fixed tone keeps its frequency, a road tone goes with the road alone") {
  int looked_at = 0;
  for (std::uint64_t seed = 1; seed <= 40 && looked_at < 6; ++seed) {
    const PitchScene fixed = make_pitch_scene(PitchKind::fixed, seed);
    if (fixed.tone_to_noise_db < 15.0) continue;
    ++looked_at;
    for (const SceneTake& take : {std::cref(fixed.takes.front()), std::cref(fixed.takes.back())}) {
      const auto five_seconds = static_cast<std::size_t>(5.0 * take.sample_rate);
      const std::vector<double> seconds = seconds_of(take);
      const double hz = *fixed.frequency_hz;
      CHECK(strongest_between(std::span(take.samples).first(five_seconds),
                              std::span(seconds).first(five_seconds), 0.99 * hz,
                              1.01 * hz) == doctest::Approx(hz).epsilon(0.002));
    }
  }
  CHECK(looked_at == 6);

  looked_at = 0;
  for (std::uint64_t seed = 1; seed <= 40 && looked_at < 4; ++seed) {
    const PitchScene road = make_pitch_scene(PitchKind::road, seed);
    if (road.tone_to_noise_db < 18.0) continue;
    ++looked_at;
    for (std::size_t i = 0; i + 1 < road.takes.size(); ++i) {
      const SceneTake& take = road.takes[i];
      REQUIRE(take.road_truth.size() == 1);
      REQUIRE(take.road_speed_kmh.has_value());
      CHECK(*take.road_speed_kmh == doctest::Approx(take.road_truth[0].kmh).epsilon(0.02));
      const double hz = *road.cycles_per_metre * take.road_truth[0].kmh / 3.6;
      CHECK(stands_at(take.samples, seconds_of(take), hz));
    }
    CHECK_FALSE(road.takes.back().road_speed_kmh.has_value());
    // Faster on the road with a slower engine: nothing is proportional.
    CHECK(road.takes[0].road_truth[0].kmh < road.takes[2].road_truth[0].kmh);
    CHECK(road.takes[1].truth.at(1.0_s) > road.takes[2].truth.at(1.0_s));
    CHECK(road.takes[1].road_truth[0].kmh < road.takes[2].road_truth[0].kmh);
  }
  CHECK(looked_at == 4);
}

TEST_CASE("scenes: the tone stands above the noise of its critical band as stated") {
  // A fixed tone wanders too little to matter over 5 s; combustion lines are narrow, and the median
  // of the noise lines does not see them. For an exponential law the mean is median / ln 2.
  std::vector<double> errors;
  for (std::uint64_t seed = 1; seed <= 200 && errors.size() < 12; ++seed) {
    const PitchScene scene = make_pitch_scene(PitchKind::locked, seed);
    if (scene.takes.size() == 1 || scene.tone_to_noise_db < 12.0) continue;
    for (const SceneTake& take : scene.takes) {
      const double rpm = take.truth.revolutions_at(5.0_s) * 12.0;
      const double hz = *scene.order * rpm / 60.0;
      if (std::abs(hz / scene.mid_hz - 1.0) > 0.05) continue;
      const std::vector<double> crank = crank_of(take);
      std::vector<double> lines;
      for (int i = 0; i < 30; ++i) {
        const double offset = 0.02 + 0.002 * i;
        lines.push_back(
            tone_power(take.samples, crank, *scene.order * (1.0 + (i % 2 ? offset : -offset))));
      }
      // A line of a Hann-weighted 5 s take has the noise bandwidth 1.5 / 5 Hz.
      const double density = median(lines) / std::numbers::ln2 / (1.5 / 5.0);
      const double noise = density * critical_bandwidth(Hertz(hz)).value;
      const double found =
          decibels_of_power(tone_power(take.samples, crank, *scene.order) / noise).value;
      errors.push_back(found - scene.tone_to_noise_db);
    }
  }
  REQUIRE(errors.size() >= 12);
  CHECK(std::abs(mean(errors)) < 0.8);
  for (const double error : errors) CHECK(std::abs(error) < 3.0);
}

TEST_CASE("scenes: points to be ranked differ by the stated levels, but for the hand") {
  std::vector<double> errors;
  double spread = 0.0;
  for (std::uint64_t seed = 1; seed <= 16; ++seed) {
    const RankingScene scene = make_ranking_scene(seed);
    CAPTURE(seed);
    CHECK(scene.level_db.size() >= 2);
    CHECK(scene.level_db.size() <= 8);
    CHECK(scene.takes.size() == scene.level_db.size() * static_cast<std::size_t>(scene.repeats));
    CHECK(*std::ranges::max_element(scene.level_db) == 0.0);
    CHECK(scene.band_hz.contains(scene.order * scene.truth.at(2.0_s).value / 60.0));
    const std::vector<double> crank =
        crank_turns(scene.truth, scene.takes[0].samples.size(), scene.sample_rate);
    double reference = 0.0;
    std::vector<double> levels;
    for (const RankingScene::PointTake& take : scene.takes) {
      const double level = decibels_of_power(tone_power(take.samples, crank, scene.order)).value -
                           scene.level_db[take.point];
      levels.push_back(level);
      reference += level / static_cast<double>(scene.takes.size());
    }
    for (const double level : levels)
      errors.push_back((level - reference) / scene.hand_pressure_sd_db);
    spread += scene.hand_pressure_sd_db / 16.0;
  }
  CHECK(spread == doctest::Approx(2.0).epsilon(0.25));
  // Residuals from each scene's own mean: a little below 1 on average.
  CHECK(standard_deviation(errors) > 0.75);
  CHECK(standard_deviation(errors) < 1.1);
}
