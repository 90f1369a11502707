#pragma once

#include <span>
#include <vector>

#include "dsp/speed_votes.h"
#include "dsp/statistics.h"

namespace howl {

/// Places on the grid, one a moment; between candidates after refine_path().
struct SpeedPath {
  std::vector<double> places;
  std::vector<double> sigma;  ///< one standard deviation, in places; empty before refine_path()
};

/// A stretch of the grid that a path may (or must not) use at each moment.
struct SpeedCorridor {
  std::vector<Interval> places;  ///< one a moment
};

/// The most likely course of the speed (Viterbi 1967, IEEE Trans. IT 13, 260–269). From moment to
/// moment the speed goes on as the votes' own rate says, give or take 0.4 %, now and then a few per
/// cent. It keeps out of `blocked`, so that the next best course can be asked for; and inside
/// `within` where that is given. Empty without moments.
SpeedPath best_path(const SpeedVotes& votes, std::span<const SpeedCorridor> blocked,
                    const SpeedCorridor* within);

/// Corridor of so many places on either side of a path.
SpeedCorridor around(const SpeedPath& path, double places);

/// The same course between the candidates, with its standard deviation at each moment: posterior
/// mean and spread of the offset from `path` (forward-backward algorithm, Rabiner 1989, Proc. IEEE
/// 77, 257–286).
SpeedPath refine_path(const SpeedVotes& votes, const SpeedPath& path);

/// Whether a course may have left the engine and gone on at a multiple of its speed: it moves by
/// more than the nearest such ratio, 3:4, would need on its way, and for 1.5 s its votes are hardly
/// better than chance (their mean is below 1.5, as natural logarithms; in trials of random sweeps,
/// courses that leapt lay below 1.4, half of those below that had not).
bool may_have_leapt(const SpeedVotes& votes, const SpeedPath& path);

}  // namespace howl
