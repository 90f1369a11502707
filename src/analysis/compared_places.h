#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "src/analysis/comparison.h"
#include "src/analysis/tone_meter.h"

namespace howl {

/// A row of takes with those left out that can prove nothing, and what the rest of its spectrum
/// did.
struct PlaceEvidence {
  ComparedPlace place;              ///< firing_change_db still unknown
  std::vector<std::size_t> before;  ///< places in TakeRow::before, not of takes
  std::vector<std::size_t> after;
  double rest_scatter_db{};  ///< of single bands about rest_change_db
  double rest_degrees{};     ///< bands less one
};

/// Leaves out takes that clipped, lost contact for more than a fifth, were changed since they were
/// added, or whose sound contradicts their speed, and such as lost contact for less where others of
/// their side did not; where all did, the row is not steady. The row is not trusted when that
/// leaves a side empty, when nothing but what was entered shows that the engine ran at that speed
/// after (a howl is gone while the engine stands, too), when the takes after are less than half as
/// long in all, or when the rest of the spectrum moved by more than 6 dB: hand and probe explain 95
/// % of less than that (s.d. 2 dB each time, common practice), so that the probe was held
/// otherwise, or the gain changed.
PlaceEvidence place_evidence(const TakeRow& row, const AnalysedCase& before,
                             const AnalysedCase& after,
                             const std::vector<TakeReading>& readings_before,
                             const std::vector<TakeReading>& readings_after);

/// Notes what the engine's firing orders did (one change each), which fall with the howl when the
/// probe is held badly or the speed is not what was entered. A median change of more than 6 dB
/// takes the trust away.
void weigh_firing(PlaceEvidence& evidence, const std::vector<double>& changes_db);

/// The gain that seems to have been changed between the cases, in dB: the median change of the rest
/// where it moved by more than 3 dB, the same way and within 3 dB of each other, at three places or
/// more.
std::optional<double> gain_change(const std::vector<PlaceEvidence>& places);

}  // namespace howl
