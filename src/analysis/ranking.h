#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/analysis/reference_channel.h"
#include "src/analysis/take_audio.h"

namespace howl {

struct Ranking {
  std::vector<RankedPoint> points;  ///< loudest first; points that cannot be compared last
  std::vector<std::string> warnings;
  /// What was added to each take's level for changes of the source; empty where nothing was.
  std::vector<std::optional<double>> corrections_db;
};

/// What else is known of the takes that are ranked.
struct RankingAids {
  std::span<const TakeAudio> background{};  ///< takes without the suspect, to be taken off
  /// What each take's reference microphone heard in the band; empty, or one a take.
  std::span<const std::optional<ReferenceReading>> references{};
  /// Takes in which an engine's line in the band covers the tone (masked_takes.h): there the level
  /// is at most what was measured. Empty, or one a take.
  std::vector<bool> masked{};
};

/// Ranks probe points by level in the band.
///
/// Takes are comparable at like speed (mean within 3 %, or sweeps that begin and end within 10 %),
/// the same load state and road speed within 5 %. The points compared are those of the condition
/// that most points share, over all conditions that all of them share; the rest is listed with a
/// warning and without a call. `speeds` (rpm), if given, leaves out takes that reach outside, as
/// long as any are left: for a tone in Hz that was seen at those speeds only. Levels are without
/// their background and corrected for changes of the source where `aids` allow it.
Ranking rank_points(const std::vector<TakeAudio>& takes, const AnalysisRequest::Band& band,
                    const std::optional<Interval>& speeds, const RankingAids& aids = {});

/// Calls follow common practice: under 3 dB no difference, 3 dB maybe, 6 dB likely, 10 dB clear.
/// They also need the data's support. Maybe: the loudest point is so with a chance of 97.5 % (if
/// the spread of hand and probe is as expected, two equal points reach it in one case of twenty),
/// or the difference's own simultaneous interval leaves 0 out. Likely: that interval leaves 0 out.
/// Clear: it begins at 3 dB or more. `surely_loudest` is the chance that the loudest point is the
/// loudest.
Call call_of(double difference_db, const Interval& difference_ci_db, double surely_loudest);

}  // namespace howl
