#include "src/analysis/tone_results.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "src/analysis/like_takes.h"

using namespace howl;

namespace {

/// Three holds that were written down as 1200, 1500 and 1800 rpm.
std::vector<TakeAudio> three_holds() {
  std::vector<TakeAudio> takes;
  for (const double rpm : {1200.0, 1500.0, 1800.0}) {
    TakeAudio take;
    take.id = "t0" + std::to_string(takes.size() + 1);
    take.point = "bell housing";
    take.seconds = 6.0;
    take.speed = SpeedCurve::constant(Rpm(rpm), 0.005);
    takes.push_back(std::move(take));
  }
  return takes;
}

/// A tone that all of them show at one pitch.
ToneTrack standing_at(double hertz, const std::vector<TakeAudio>& takes) {
  ToneTrack track;
  for (std::size_t i = 0; i < takes.size(); ++i) {
    Sighting sighting;
    sighting.take = i;
    const double rpm = takes[i].speed.at(Seconds(0.0)).value;
    sighting.points = {{.frequency_hz = hertz,
                        .sigma_hz = 0.02,
                        .rpm = rpm,
                        .speed_sigma = 0.005,
                        .road_speed_kmh = {},
                        .take = i}};
    sighting.levels_db = {-30.0};
    sighting.frequency_hz = {hertz, hertz};
    sighting.rpm = {rpm, rpm};
    sighting.level_db = -30.0;
    sighting.tone_to_noise_db = 20.0;
    sighting.prominent = true;
    track.sightings.push_back(std::move(sighting));
  }
  track.verdict = judge_pitch(track.points());
  return track;
}

std::string remark_at(double hertz, const std::vector<TakeAudio>& takes) {
  const ToneFindings findings = tone_results({standing_at(hertz, takes)}, takes, 4);
  REQUIRE(findings.tones.size() == 1);
  CHECK(findings.tones.front().behaviour == Behaviour::fixed_pitch);
  return findings.tones.front().remark;
}

}  // namespace

TEST_CASE("tone results: a pitch that stands at the mains' frequency is hum") {
  std::vector<TakeAudio> takes = three_holds();
  CHECK(remark_at(50.0, takes).find("hum") != std::string::npos);
  CHECK(remark_at(120.0, takes).find("hum") != std::string::npos);
  CHECK(remark_at(53.0, takes).empty());
}

TEST_CASE("tone results: nothing goes its own way by a log that may be seconds off") {
  std::vector<TakeAudio> takes = three_holds();
  ToneTrack track = standing_at(90.0, takes);
  track.verdict.behaviour = Behaviour::unlocked;
  for (Sighting& sighting : track.sightings) sighting.followed = true;
  const auto behaviour = [&] { return tone_results({track}, takes, 4).tones.front().behaviour; };
  CHECK(behaviour() == Behaviour::unlocked);
  takes[1].lag_unclear = true;
  CHECK(behaviour() == Behaviour::undetermined);
  CHECK(tone_results({track}, takes, 4).tones.front().advice.find("log") != std::string::npos);
  // What follows the engine in that take shows that the log is in its place.
  ToneTrack locked = standing_at(200.0, takes);
  locked.verdict.behaviour = Behaviour::speed_locked;
  for (Sighting& sighting : locked.sightings) sighting.followed = true;
  const ToneFindings both = tone_results({track, locked}, takes, 4);
  CHECK(std::ranges::count(both.tones, Behaviour::unlocked, &ToneResult::behaviour) == 1);
}

TEST_CASE("tone results: firing that stands because the speeds are wrong is no hum") {
  // A four fires at 50 Hz at 1500 rpm, whatever else was written down.
  std::vector<TakeAudio> takes = three_holds();
  for (TakeAudio& take : takes) take.heard_rpm = 1500.0;
  CHECK(remark_at(50.0, takes).empty());
  takes = three_holds();
  for (TakeAudio& take : takes) take.heard_rpm = 1.005 * mean_rpm(take);
  CHECK(remark_at(50.0, takes).find("hum") != std::string::npos);
}

TEST_CASE("tone results: where nothing is prominent, the base comes before its weaker multiple") {
  const std::vector<TakeAudio> takes = three_holds();
  const auto faint = [&](double hertz, double level_db, double tone_to_noise_db) {
    ToneTrack track = standing_at(hertz, takes);
    for (Sighting& sighting : track.sightings) {
      sighting.level_db = level_db;
      sighting.levels_db = {level_db};
      sighting.tone_to_noise_db = tone_to_noise_db;
      sighting.limit_db = 10.0;
      sighting.prominent = false;
    }
    return track;
  };
  const auto first = [&](double other_hertz, double other_db) {
    const ToneFindings findings =
        tone_results({faint(441.0, -48.0, 4.0), faint(other_hertz, other_db, 1.0)}, takes, 4);
    REQUIRE(findings.tones.size() == 2);
    CHECK(findings.tones.front().id == "tone1");
    return findings.tones.front().frequency_hz.low;
  };
  CHECK(first(147.0, -33.0) == doctest::Approx(147.0));
  CHECK(first(148.0, -33.0) == doctest::Approx(441.0));  // no part of it
  CHECK(first(147.0, -55.0) == doctest::Approx(441.0));  // weaker
}

TEST_CASE(
    "tone results: takes of another gear in which firing would cover the tone do not settle it") {
  std::vector<TakeAudio> takes = three_holds();
  const auto in_gear = [](TakeAudio& take, double kmh_per_rpm) {
    const double kmh = kmh_per_rpm * take.speed.at(Seconds(0.0)).value;
    take.road_speed_kmh = kmh;
  };
  for (TakeAudio& take : takes) in_gear(take, 0.03);
  ToneTrack track = standing_at(1.0, takes);
  for (Sighting& sighting : track.sightings) {
    PitchPoint& point = sighting.points.front();
    point.frequency_hz = 2.75 * point.rpm / 60.0;
    point.road_speed_kmh = 0.03 * point.rpm;
    sighting.frequency_hz = {point.frequency_hz, point.frequency_hz};
  }
  track.verdict.doubt = PitchDoubt::road_and_engine_together;
  track.verdict.behaviour = Behaviour::undetermined;
  const auto advice = [&] { return tone_results({track}, takes, 4).tones.front().advice; };
  CHECK(advice().find("third gear") == std::string::npos);
  TakeAudio other = takes.front();
  other.id = "t04";
  in_gear(other, 0.03 * 4.0 / 2.75);  // order 4 by the road
  takes.push_back(other);
  CHECK(advice().find("(t04)") != std::string::npos);
  in_gear(takes.back(), 0.03 * 3.3 / 2.75);  // beside nothing
  CHECK(advice().find("third gear") == std::string::npos);
}
