#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// Candidate engine speeds in equal ratios.
struct SpeedGrid {
  double lowest_rpm{450.0};
  double log_step{0.0025};  ///< ln n from one candidate to the next
  std::size_t count{1100};

  double rpm(double place) const;       ///< `place` may lie between candidates
  double place(double rpm) const;       ///< inverse of rpm()
  static SpeedGrid over(Interval rpm);  ///< empty where nothing lies between its ends
};

/// Sound as this search wants it: 4096 Hz, so that what lies below 1500 Hz is true.
constexpr double kVoteRate = 4096.0;
constexpr double kHighestVoteHz = 1500.0;
/// Steps between votes, s.
constexpr double kVoteStep = 0.125;

/// How the orders of a four-stroke engine vote for its speed, moment by moment.
///
/// `vote(m, i)` is the logarithm of how much likelier the spectrum at moment m is if the crankshaft
/// turns at candidate i than if its lines came from anywhere: the sum over all half orders of the
/// engine. One line cannot say more than that lines are rare where it lies, so that no single
/// harmonic decides (after Leclère, André and Antoni 2016, MSSP: every order has a vote
/// at every moment; the form of the vote, a bounded log-likelihood ratio against clutter, is ours).
/// Votes come from blocks of 0.5 s that are warped in time for several rates of change of speed
/// (fan-chirp transform: Weruaga and Képesi 2007, Signal Processing 87, 1504–1522), the best of
/// which is kept in `rate`.
struct SpeedVotes {
  SpeedGrid grid;
  double first_time{};  ///< s, of moment 0; the others follow in steps of kVoteStep
  std::size_t moments{};
  std::vector<std::uint8_t> packed;      ///< moments × grid.count
  std::vector<std::int8_t> packed_rate;  ///< same

  double time(std::size_t moment) const {
    return first_time + kVoteStep * static_cast<double>(moment);
  }
  double vote(std::size_t moment, std::size_t candidate) const;
  /// d ln n/dt in 1/s that suits the candidate best at that moment.
  double rate(std::size_t moment, std::size_t candidate) const;
};

/// Counts the votes in sound at kVoteRate. `cylinders`: of the engine; none: 3 to 8 are all tried
/// at each moment. No moments where the sound is shorter than a block and its margins (0.6 s).
SpeedVotes count_speed_votes(std::span<const float> sound, const SpeedGrid& grid,
                             std::optional<int> cylinders);

}  // namespace howl
