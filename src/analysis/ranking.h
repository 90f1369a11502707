#pragma once

#include <optional>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

struct Ranking {
  std::vector<RankedPoint> points;  ///< loudest first; points that cannot be compared last
  std::vector<std::string> warnings;
};

/// Ranks probe points by level in the band.
///
/// Takes are comparable at like speed (mean within 3 %, or sweeps that begin and end within 10 %),
/// the same load state and road speed within 5 %. The points compared are those of the condition
/// that most points share, over all conditions that all of them share; the rest is listed with a
/// warning and without a call. Calls follow common practice, and never rest on a difference that
/// the 95 % interval does not support: under 3 dB no difference, 3 dB maybe, 6 dB likely, 10 dB
/// clear.
/// `speeds` (rpm), if given, leaves out takes that reach outside: for a tone in Hz that was seen at
/// those speeds only.
Ranking rank_points(const std::vector<TakeAudio>& takes, const AnalysisRequest::Band& band,
                    const std::optional<Interval>& speeds);

/// `surely_loudest`: the chance that the loudest point is the loudest, 0 … 1. A difference counts
/// as supported when that chance is at least 97.5 % (two equal points reach it in one case of
/// twenty, more equal points more seldom), or when its own simultaneous interval leaves 0 out.
Call call_of(double difference_db, const Interval& difference_ci_db, double surely_loudest);

}  // namespace howl
