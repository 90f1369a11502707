#include "src/analysis/tone_tracks.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
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

TEST_CASE("tracks: where road and engine speed change in step, neither is told") {
  std::vector<Sighting> sightings;
  for (std::size_t i = 0; i < three_gears.size(); ++i) {
    const Hold one_gear{three_gears[i].rpm, three_gears[i].rpm / 30.0};
    for (const double order : {2.0, 4.0, 6.0, 13.7})
      sightings.push_back(seen(i, one_gear, order * one_gear.rpm / 60.0, 20.0 - order));
  }
  sort_by_strength(sightings);
  for (const ToneTrack& track : link_tracks(sightings))
    CHECK(track.verdict.behaviour == Behaviour::undetermined);
}
