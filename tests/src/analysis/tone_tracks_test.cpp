#include "src/analysis/tone_tracks.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "dsp/statistics.h"

using namespace howl;

namespace {

struct Hold {
  double rpm;
  double kmh;
};
/// Three gears: road and engine speed do not change in step.
const std::vector<Hold> three_gears{{1500.0, 50.0}, {1900.0, 42.0}, {2500.0, 66.0}};

Sighting seen(std::size_t take, const Hold& hold, double hertz, double tone_to_noise_db) {
  Sighting sighting;
  sighting.take = take;
  sighting.points = {{.frequency_hz = hertz,
                      .sigma_hz = 0.05,
                      .rpm = hold.rpm,
                      .speed_sigma = 0.005,
                      .road_speed_kmh = hold.kmh,
                      .take = take}};
  sighting.levels_db = {-40.0};
  sighting.frequency_hz = {hertz, hertz};
  sighting.rpm = {hold.rpm, hold.rpm};
  sighting.level_db = -40.0;
  sighting.tone_to_noise_db = tone_to_noise_db;
  sighting.seconds = 3.0;
  return sighting;
}

/// Strongest first within each take, as the survey of a hold gives them.
void sort_by_strength(std::vector<Sighting>& sightings) {
  std::ranges::stable_sort(sightings, [](const Sighting& a, const Sighting& b) {
    return a.take != b.take ? a.take < b.take : a.tone_to_noise_db > b.tone_to_noise_db;
  });
}

Behaviour behaviour_at(const std::vector<ToneTrack>& tracks, double hertz_in_first_hold) {
  for (const ToneTrack& track : tracks)
    for (const Sighting& s : track.sightings)
      if (s.take == 0 && std::abs(s.points.front().frequency_hz - hertz_in_first_hold) < 0.5)
        return track.verdict.behaviour;
  return Behaviour::undetermined;
}

}  // namespace

TEST_CASE("tracks: three gears settle what follows the engine, the road and neither") {
  std::vector<Sighting> sightings;
  for (std::size_t i = 0; i < three_gears.size(); ++i) {
    const Hold& hold = three_gears[i];
    // Speeds as they were written down: the engine's read 0.3 % high in the second, the road's
    // 0.8 % low in the third.
    const double turns = (i == 1 ? 0.997 : 1.0) * hold.rpm / 60.0;
    const double metres = (i == 2 ? 1.008 : 1.0) * hold.kmh / 3.6;
    for (const double order : {0.5, 1.5, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0})
      sightings.push_back(seen(i, hold, order * turns, 20.0 - order));
    for (const double harmonic : {1.0, 2.0, 3.0})
      sightings.push_back(seen(i, hold, 10.3 * harmonic * metres, 24.0 - 5.0 * harmonic));
    sightings.push_back(seen(i, hold, 455.0, 9.0 + static_cast<double>(i)));
  }
  sort_by_strength(sightings);
  const std::vector<ToneTrack> tracks = link_tracks(sightings);
  for (const double order : {2.0, 4.0, 6.0, 8.0}) {
    CAPTURE(order);
    CHECK(behaviour_at(tracks, order * 25.0) == Behaviour::speed_locked);
  }
  for (const double harmonic : {1.0, 2.0, 3.0}) {
    CAPTURE(harmonic);
    CHECK(behaviour_at(tracks, 10.3 * harmonic * 50.0 / 3.6) == Behaviour::road_locked);
  }
  CHECK(behaviour_at(tracks, 455.0) == Behaviour::fixed_pitch);
}

TEST_CASE("tracks: tones that have nothing to do with each other are seldom joined") {
  // A law must be 20 times likelier than chance; by Markov's inequality fewer than one tone in
  // twenty meets that by chance, for each of the three laws.
  Random random(3);
  std::size_t tones = 0;
  std::size_t settled = 0;
  for (int draw = 0; draw < 200; ++draw) {
    std::vector<Sighting> sightings;
    for (std::size_t i = 0; i < three_gears.size(); ++i)
      for (int k = 0; k < 15; ++k)
        sightings.push_back(seen(i, three_gears[i], 50.0 * std::pow(100.0, draw_uniform(random)),
                                 25.0 * draw_uniform(random)));
    sort_by_strength(sightings);
    tones += sightings.size();
    for (const ToneTrack& track : link_tracks(sightings))
      if (track.verdict.behaviour != Behaviour::undetermined) settled += track.sightings.size();
  }
  CAPTURE(settled);
  CAPTURE(tones);
  CHECK(static_cast<double>(settled) < 0.15 * static_cast<double>(tones));
}

TEST_CASE("tracks: where road and engine speed change in step, they are one") {
  std::vector<Sighting> sightings;
  for (std::size_t i = 0; i < three_gears.size(); ++i) {
    const Hold one_gear{three_gears[i].rpm, three_gears[i].rpm / 30.0};
    for (const double order : {2.0, 4.0, 6.0, 13.7})
      sightings.push_back(seen(i, one_gear, order * one_gear.rpm / 60.0, 20.0 - order));
  }
  sort_by_strength(sightings);
  const std::vector<ToneTrack> tracks = link_tracks(sightings);
  CHECK(tracks.size() == 4);
  for (const ToneTrack& track : tracks) {
    CAPTURE(track.sightings.front().points.front().frequency_hz);
    CHECK(track.verdict.behaviour == Behaviour::speed_locked);
    // A whole order that is known well is hardly the road's by chance.
    const bool direct = track.verdict.drive == Drive::direct && *track.verdict.order < 3.0;
    CHECK((direct || track.verdict.drive == Drive::engine_or_road));
    CHECK(track.sightings.size() == three_gears.size());
  }
}

namespace {

/// A ridge through a sweep in the gear of 30 rpm a km/h.
Sighting sweep_of(std::size_t take, double hertz_per_kmh) {
  Sighting sweep = seen(take, {1000.0, 1000.0 / 30.0}, hertz_per_kmh * 1000.0 / 30.0, 15.0);
  sweep.followed = true;
  sweep.points.clear();
  sweep.levels_db.clear();
  for (double rpm = 1000.0; rpm <= 2500.0; rpm += 25.0) {
    sweep.points.push_back({.time = rpm / 100.0,
                            .frequency_hz = hertz_per_kmh * rpm / 30.0,
                            .sigma_hz = 0.1,
                            .rpm = rpm,
                            .speed_sigma = 0.005,
                            .road_speed_kmh = rpm / 30.0,
                            .take = take});
    sweep.levels_db.push_back(-40.0);
  }
  sweep.frequency_hz = {hertz_per_kmh * 1000.0 / 30.0, hertz_per_kmh * 2500.0 / 30.0};
  sweep.rpm = {1000.0, 2500.0};
  sweep.seconds = 15.0;
  return sweep;
}

}  // namespace

TEST_CASE("tracks: sweeps without road speed go with the holds of the one gear that is known") {
  constexpr double per_kmh = 5.7;
  const auto tracks_with = [&](double rpm_a_kmh_of_last) {
    std::vector<Sighting> sightings;
    for (const std::size_t take : {0, 1}) {
      sightings.push_back(sweep_of(take, per_kmh));
      for (PitchPoint& p : sightings.back().points) {
        p.road_speed_kmh.reset();
        p.motion_unknown = true;
      }
    }
    for (std::size_t i = 2; i < 5; ++i) {
      const double rpm = 600.0 + 450.0 * static_cast<double>(i);
      const double kmh = rpm / (i == 4 ? rpm_a_kmh_of_last : 30.0);
      sightings.push_back(seen(i, {rpm, kmh}, per_kmh * kmh, 15.0));
    }
    return link_tracks(sightings);
  };
  const std::vector<ToneTrack> one_gear = tracks_with(30.0);
  REQUIRE(one_gear.size() == 1);
  CHECK(one_gear.front().verdict.drive == Drive::engine_or_road);
  CHECK(one_gear.front().sightings.size() == 5);
  // Once a gear was changed, nobody knows in which the sweeps were driven.
  for (const ToneTrack& track : tracks_with(42.0))
    CHECK(track.verdict.behaviour != Behaviour::speed_locked);
}

TEST_CASE("tracks: a howl of the road in a sweep of one gear goes on in another one's holds") {
  constexpr double per_kmh = 5.7;
  std::vector<Sighting> sightings{sweep_of(0, per_kmh)};
  for (std::size_t i = 1; i < 4; ++i) {
    const double rpm = 1200.0 + 300.0 * static_cast<double>(i);
    sightings.push_back(seen(i, {rpm, rpm / 50.0}, per_kmh * rpm / 50.0, 15.0));
  }
  const std::vector<ToneTrack> tracks = link_tracks(sightings);
  REQUIRE(tracks.size() == 1);
  CHECK(tracks.front().verdict.behaviour == Behaviour::road_locked);
}

namespace {

constexpr double kHowl = 10.15;
constexpr double kEngine = 10.0;

Sighting line_at(std::size_t take, double rpm, double true_rpm, double order, double ratio_db) {
  Sighting s = seen(take, {rpm, 0.0}, order * true_rpm / 60.0, ratio_db);
  s.points.front().road_speed_kmh.reset();
  s.points.front().sigma_hz = 0.01;
  return s;
}

/// A hold with the engine's half orders up to 10; its speed was written down as `rpm`.
void add_engine(std::vector<Sighting>& to, std::size_t take, double rpm, double true_rpm) {
  for (double order = 1.5; order <= kEngine; order += 0.5)
    to.push_back(line_at(take, rpm, true_rpm, order, order == std::round(order) ? 15.0 : 5.0));
}

Sighting ridge_at(std::size_t take, double order, double record_factor, double ratio_db) {
  Sighting s = line_at(take, 1000.0, 1000.0, order, ratio_db);
  s.followed = true;
  s.points.clear();
  s.levels_db.clear();
  for (double t = 0.0; t <= 15.0; t += 0.25) {
    const double rpm = 1000.0 + 100.0 * t;
    s.points.push_back({.time = t,
                        .frequency_hz = order * rpm / 60.0 * (1.0 + 2e-4 * std::sin(37.0 * t)),
                        .sigma_hz = 0.05,
                        .rpm = rpm * record_factor,
                        .speed_sigma = 0.01,
                        .speed_rate = 100.0 / rpm,
                        .lag_sigma = 0.3,
                        .road_speed_kmh = {},
                        .take = take});
    s.levels_db.push_back(-40.0);
  }
  s.frequency_hz = {order * 1000.0 / 60.0, order * 2500.0 / 60.0};
  s.rpm = {1000.0, 2500.0};
  s.seconds = 15.0;
  return s;
}

/// Holds 0 to 5 at 1800 rpm, of which 0 and 3 show the howl and all the engine; 6 and 7 at other
/// speeds, with the howl; a sweep with the howl and the engine's lower orders.
std::vector<Sighting> two_lines(double sweep_factor, double hold_factor) {
  std::vector<Sighting> all;
  for (std::size_t take = 0; take < 6; ++take) {
    const double factor = take % 2 == 0 ? hold_factor : 1.0 / hold_factor;
    add_engine(all, take, 1800.0, 1800.0 * factor);
    if (take % 3 == 0) all.push_back(line_at(take, 1800.0, 1800.0 * factor, kHowl, 20.0));
  }
  for (std::size_t take = 6; take < 8; ++take) {
    const double rpm = take == 6 ? 1200.0 : 2500.0;
    add_engine(all, take, rpm, rpm);
    all.push_back(line_at(take, rpm, rpm, kHowl, 20.0));
  }
  for (double order = 1.5; order < 10.0; order += 0.5)
    all.push_back(ridge_at(8, order, sweep_factor, 12.0));
  all.push_back(ridge_at(8, kHowl, sweep_factor, 20.0));
  sort_by_strength(all);
  return all;
}

/// The track of the sweep's last ridge.
const ToneTrack& howl_track(const std::vector<ToneTrack>& tracks) {
  for (const ToneTrack& track : tracks)
    for (const Sighting& s : track.sightings)
      if (s.followed && std::abs(s.frequency_hz.low - kHowl * 1000.0 / 60.0) < 1e-6) return track;
  throw std::logic_error("the howl is in no track");
}

}  // namespace

TEST_CASE("tracks: the engine's line 1.5 % beside a howl is never taken for the howl") {
  // Speeds as written: right; the sweep's 1 % low; the holds' by turns 0.5 % high and low.
  for (const auto& [sweep_factor, hold_factor] :
       {std::pair{1.0, 1.0}, std::pair{0.99, 1.0}, std::pair{1.0, 1.005}}) {
    CAPTURE(sweep_factor);
    CAPTURE(hold_factor);
    const std::vector<ToneTrack> tracks = link_tracks(two_lines(sweep_factor, hold_factor));
    const ToneTrack& howl = howl_track(tracks);
    CHECK(howl.verdict.behaviour == Behaviour::speed_locked);
    CHECK(howl.verdict.order_ci95->contains(kHowl));
    if (sweep_factor == 1.0 && hold_factor == 1.0)
      CHECK(*howl.verdict.order == doctest::Approx(kHowl).epsilon(0.003));
    std::vector<std::size_t> takes;
    for (const Sighting& s : howl.sightings) takes.push_back(s.take);
    std::ranges::sort(takes);
    CHECK(takes == std::vector<std::size_t>{0, 3, 6, 7, 8});
    CHECK_FALSE(howl.half_order);
  }
}

TEST_CASE("tracks: a line at one speed that lies on the half orders of its takes says so") {
  const std::vector<ToneTrack> tracks = link_tracks(two_lines(1.0, 1.0));
  const auto engine = std::ranges::find_if(tracks, [](const ToneTrack& t) {
    return std::ranges::any_of(t.sightings, [](const Sighting& s) {
      return s.take == 1 && std::abs(s.points.front().frequency_hz - 300.0) < 0.1;
    });
  });
  REQUIRE(engine != tracks.end());
  CHECK(engine->half_order == kEngine);
}
