#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "dsp/statistics.h"

namespace howl {

/// What one take holds in a narrow window about a tone.
struct WindowBlocks {
  std::vector<double> block_power;  ///< mean square in the window, block by block; at least one
  double noise_power{};             ///< of which noise, judged from around the window; ≥ 0
};

/// The takes at one point in one condition, before and after; at least one each.
struct ChangeCell {
  std::vector<WindowBlocks> before;
  std::vector<WindowBlocks> after;
  /// By how much the rest of the spectrum rose in the same takes, and how much single bands of it
  /// scatter about that.
  double rest_db{};
  double rest_scatter_db{};
};

struct ChangeParameters {
  double confidence{0.95};
  std::size_t replicates{2000};
  std::uint64_t seed{1};
  /// Consecutive blocks resampled together; at most a third of a take's blocks.
  std::size_t block_run{2};
  /// Of repeats, and the degrees of freedom that the expectation is worth; as in
  /// ComparisonParameters (common practice).
  double expected_repeat_sd_db{2.0};
  double expected_repeat_degrees{4.0};
  /// Standard deviation of the noise in the window as judged from around it (our choice: floors of
  /// engines slope and ripple by about so much within a critical band).
  double noise_sd_db{1.0};
  /// A tone this far under the noise in its window is never claimed to be quieter still.
  double deepest_db{-13.0};
};

/// Level of the tone on one side, the noise taken off.
struct ToneLevel {
  /// 10 lg of the mean square; none where it cannot be told from the noise with `confidence`.
  std::optional<double> level_db;
  double upper_db{};  ///< the level is below this with `confidence`
  bool heard() const { return level_db.has_value(); }
};

/// A change of level in dB, after less before.
struct ChangeEstimate {
  /// None where the tone is heard on neither side, or on one only.
  std::optional<double> change_db;
  /// `confidence`; an end is missing where the tone is not heard on the side that would give it.
  std::optional<double> low_db;
  std::optional<double> high_db;
  double middle_db{};  ///< median of the replicates, bounded by `deepest_db` where it is not heard
};

struct LevelChange {
  ToneLevel before;
  ToneLevel after;
  ChangeEstimate absolute;  ///< hand and probe count in full
  ChangeEstimate relative;  ///< to the rest of the spectrum, in which the hand's pressure cancels
  double repeat_sd_db{};
};

/// How much a tone's level changed, over all cells as energy. Within takes: circular block
/// bootstrap. Between repeats: RepeatSpread pooled over all cells and both sides; of the relative
/// change the scatter of the rest instead. Throws std::invalid_argument for a cell without takes.
LevelChange level_change(std::span<const ChangeCell> cells, const ChangeParameters& parameters);

/// An end of an interval moved out from `middle` as if it held with `confidence` instead of 95 %
/// (ratio of Student quantiles; to pay for many comparisons, by Bonferroni).
double at_confidence(double end, double middle, double confidence, double degrees);

}  // namespace howl
