#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// One take's energy in the suspect band, block by block.
struct TakeBlocks {
  std::size_t point{};      ///< which probe point
  std::size_t condition{};  ///< takes of one condition (like speed, same load) are comparable
  std::vector<double> block_power;  ///< mean square of each block, ≥ 0; at least one
  /// Place in the list of backgrounds of what to take off; none: nothing is taken off.
  std::optional<std::size_t> background{};
  /// Added to the level of what is left, with a normal error of this standard deviation: for a
  /// source that was louder or quieter meanwhile than it usually is.
  double correction_db{};
  double correction_sd_db{};
  /// What may have to be added to the level in dB, for a fault whose size is not known; contains 0.
  Interval unsure_db{};
};

/// What is heard without the source, block by block.
struct BackgroundBlocks {
  std::vector<double> block_power;  ///< mean square, ≥ 0; at least one
  std::size_t takes{1};             ///< repeats that it is the mean of
};

struct ComparisonParameters {
  double confidence{0.95};
  std::size_t replicates{2000};
  std::uint64_t seed{1};
  /// Consecutive blocks resampled together, so that slow changes of level are not taken for noise;
  /// at most a third of a take's blocks.
  std::size_t block_run{2};
  /// Spread between repeats that is expected before any repeat is seen (hand pressure, exact spot),
  /// and how many degrees of freedom that expectation is worth. Common practice; a hand probe's
  /// response changes with grip and force.
  double expected_repeat_sd_db{2.0};
  double expected_repeat_degrees{4.0};
};

struct ComparedPoint {
  std::size_t point{};
  double level_db{};  ///< 10 lg of the mean square: repeats and conditions averaged as energy
  /// Less than 3 dB over its background: the level is at most this (see without_background).
  bool upper_bound{};
  Interval level_ci_db{};  ///< begins at −∞ where the background may be all that was heard
  double probability_loudest{};
  double below_loudest_db{};
  /// Holds for all pairs of points at once, so that picking the loudest after looking is paid for.
  Interval below_loudest_ci_db{};
};

struct LevelComparison {
  std::vector<ComparedPoint> points;  ///< loudest first, upper bounds after all others
  double repeat_sd_db{};              ///< pooled, with the expectation mixed in
};

/// Levels of probe points with their uncertainty.
///
/// Every point must have a take in every condition that occurs (else std::invalid_argument); choose
/// the takes so. Within a take: circular block bootstrap. Between repeats: a spread pooled over all
/// points and conditions (one hand holds the probe), with the expectation mixed in; see
/// RepeatSpread. Differences use the largest standardised deviation over all pairs (bootstrap form
/// of Tukey's range; Efron and Tibshirani 1993; Hsu 1996 for comparison with the best). What is
/// unsure of a take is no chance that repeats even out: its bounds, the widest of a point's takes,
/// are added to the ends of the intervals, and chances are drawn with it anywhere between them
/// (JCGM 100:2008, 4.3.7).
///
/// A background is taken off as energy, and its blocks and repeats are drawn anew in every
/// replicate together with those of the takes, so that its random error is in all intervals; one
/// background of several takes is drawn once for all of them. In a replicate the source's own part
/// counts as a tenth of what was measured where it comes out smaller, and as half for an upper
/// bound, so that an unknown level neither makes a point the loudest nor lets one pass for quiet.
LevelComparison compare_levels(std::span<const TakeBlocks> takes,
                               const ComparisonParameters& parameters,
                               std::span<const BackgroundBlocks> backgrounds = {});

}  // namespace howl
