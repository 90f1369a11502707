#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "dsp/pitch_law.h"
#include "dsp/speed_curve.h"
#include "dsp/statistics.h"
#include "dsp/units.h"

namespace howl {

/// Random situations with known truth, to try the analysis on by the hundred. Everything follows
/// from the seed: geometry, levels, errors of what was written down, and the audio.

enum class PitchKind { locked, belt, fixed, road, unlocked, steady_clip };

struct RoadPoint {
  Seconds time;
  double kmh{};
};

struct SceneTake {
  std::vector<float> samples;
  double sample_rate{};
  SpeedCurve written;  ///< what the technician has: an entered speed, or a 10 Hz log
  SpeedCurve truth;    ///< what the crankshaft did
  std::optional<double>
      road_speed_kmh;           ///< as read off, 0.5 % standard error; holds on the road only
  std::vector<double> tone_hz;  ///< true pitch of the scene's tone, ten times a second from 0 s
  std::vector<RoadPoint> road_truth;  ///< empty where the vehicle stands
};

/// One tone over combustion orders and pink noise, at one probe point.
///
/// Takes are one sweep of 10–20 s, or four to six holds of 5 s; on the road four holds in different
/// gears and a sweep with a change of gear; for a steady clip one hold. Holds carry an entered
/// speed with 0.3 % standard error, sweeps a log at 10 Hz in steps of 0.25 rpm and up to 0.1 s
/// late.
struct PitchScene {
  PitchKind kind{};
  std::vector<SceneTake> takes;
  Behaviour behaviour{Behaviour::undetermined};  ///< the right answer; a steady clip cannot tell
  std::optional<Drive> drive;  ///< direct or belt, where the pitch is speed-locked
  int cylinders{};
  std::optional<double> order;             ///< locked and belt, before slip
  std::optional<Interval> slip;            ///< belt: over all takes
  std::optional<double> frequency_hz;      ///< fixed, and the centre of an unlocked one's wander
  std::optional<double> cycles_per_metre;  ///< road
  /// Tone against the pink noise in its critical band, at mid speed, where the tone lies at
  /// `mid_hz`; combustion not counted. Over the speed range the tone's level moves by a few dB.
  double tone_to_noise_db{};
  double mid_hz{};
};

PitchScene make_pitch_scene(PitchKind kind, std::uint64_t seed);

/// Takes at several points, some several times, all at one engine speed, to be ranked by the level
/// of one tone. The hand's pressure changes the gain of each take.
struct RankingScene {
  struct PointTake {
    std::size_t point{};
    int repeat{};
    double hand_db{};  ///< gain of this take by the hand's pressure
    std::vector<float> samples;
  };
  double sample_rate{};
  std::vector<PointTake> takes;
  SpeedCurve written;
  SpeedCurve truth;
  double order{};
  Interval band_hz;              ///< the tone's critical band, by the written speed
  std::vector<double> level_db;  ///< of each point, re the loudest (0); equals are possible
  double hand_pressure_sd_db{};  ///< of the gain of a take
  int repeats{};
};

RankingScene make_ranking_scene(std::uint64_t seed);

/// What happened to the vehicle of a repair scene between the two visits, and how it was recorded.
struct RepairStory {
  double howl_db{};                   ///< change of the howl; below -100: it is no longer there
  double all_db{};                    ///< change of everything but the recorder's own noise
  std::optional<double> new_order{};  ///< of a howl that only the second visit has
  double hand_sd_db{2.0};
  double speed_sd{0.01};  ///< relative, of the second visit's engine speed
  int repeats{1};
};

/// Two visits to one invented vehicle: a howl at one order, another tone of fixed pitch, combustion
/// and pink noise at three points, all at one entered engine speed with 0.3 % standard error.
struct RepairScene {
  struct Take {
    std::size_t point{};
    bool after{};
    double hand_db{};
    std::vector<float> samples;
    SpeedCurve written;
  };
  double sample_rate{};
  int cylinders{};
  double order{};  ///< of the howl
  double fixed_hz{};
  std::vector<Take> takes;
};

/// The vehicle follows from `seed`, the recordings from `seed` and `visit`.
RepairScene make_repair_scene(std::uint64_t seed, std::uint64_t visit, const RepairStory& story);

}  // namespace howl
