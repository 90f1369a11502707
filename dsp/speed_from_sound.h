#pragma once

#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/statistics.h"

namespace howl {

/// A recording that can be streamed as often as needed: calls back with chunks, in order.
using SampleSource = std::function<void(const std::function<void(std::span<const float>)>&)>;

struct SpeedFromSoundParameters {
  std::optional<int> cylinders;  ///< of the four-stroke engine; none: 3 to 8 are weighed
  Interval rpm{450.0, 7000.0};   ///< no engine speed outside is considered
  /// What somebody wrote down, with its relative standard deviation. It is a prior, no more: it
  /// counts at most twenty times as much as any other speed.
  struct Near {
    SpeedCurve speed = SpeedCurve::constant(Rpm(1000.0), 0.01);
    double sigma{0.05};
  };
  std::optional<Near> near;
};

struct HeardSpeed {
  Seconds time;
  Rpm speed;
  double sigma{};  ///< one standard deviation, rpm
};

/// One course that the speed may have taken.
struct SpeedHypothesis {
  double probability{};
  Rpm mean;            ///< over time
  Interval mean_ci95;  ///< rpm
  std::vector<HeardSpeed> track;
  int cylinders{};        ///< as given, or as fits best
  int firing_seen{};      ///< firing orders that stand out of the noise …
  int firing_possible{};  ///< … of so many in reach
};

/// From this probability on a speed is taken as known.
constexpr double kSpeedKnown = 0.9;

struct SpeedFromSound {
  std::vector<SpeedHypothesis> hypotheses;  ///< likeliest first; speeds at least 1 % apart
  double no_engine{1.0};                    ///< probability that none of them is right
  bool too_short{};                         ///< under 2 s or 24 revolutions of any hypothesis

  /// The likeliest, where it is likely enough.
  const SpeedHypothesis* known() const {
    return !hypotheses.empty() && hypotheses.front().probability >= kSpeedKnown
               ? &hypotheses.front()
               : nullptr;
  }
};

/// Engine speed from the sound of a four-stroke engine alone (after Leclère, André and Antoni 2016,
/// MSSP: all orders vote).
///
/// Courses of the speed are found in the votes of all half orders (speed_votes.h, speed_path.h).
/// For each, the order spectrum along it is read as an engine of every number of cylinders in
/// question, turning as fast as the course or at a simple ratio of it: half, twice, two thirds …
/// (engine_lines.h). What is found is ranked by posterior probability; speeds of workshop
/// tests (about 1700 rpm, common practice) are likelier than others, and so is `near`. A single
/// tone, however loud, is no engine.
///
/// Long recordings are worked in sections of five minutes; hypotheses of neighbouring sections have
/// to join. Memory does not grow with the recording but for the track. Chunking does not matter.
SpeedFromSound speed_from_sound(const SampleSource& source, double sample_rate,
                                const SpeedFromSoundParameters& parameters);

}  // namespace howl
