#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "dsp/time_spans.h"

namespace howl {

/// Wave tops cut off at a ceiling, at full scale or, by an overdriven preamplifier, below it.
struct FlatTops {
  std::int64_t samples{};  ///< at the ceilings
  std::int64_t runs{};     ///< tops cut off
  double ceiling{};        ///< the higher of the two, as |sample|
  bool one_sided{};        ///< only one of the two ceilings was reached
  double share_within{};   ///< of the samples within `spans`, those at a ceiling
  TimeSpans spans;         ///< to a quarter of a second
};

/// Finds clipping in a stream.
///
/// A top is a run of three samples or more within 1 % of the highest value of its quarter second
/// (two within 0.05 % for tones so high that no more fit). A smooth top that the wave enters with
/// slope s and leaves k samples later is a parabola s·k/4 high; a flat one is not. A top counts as
/// flat where s·k/4 is over 3 times (12 for two samples) what the top has room for, which is never
/// taken for less than two steps of the converter. This sees a sine overdriven by 6 % or more, 15 %
/// for one of 40 samples a period, and leaves alone any sine, and rounder tops up to the sixth
/// power. Clipping has one ceiling: only quarter seconds that reach within 2 % of the take's
/// extreme count. Five tops are needed; below full scale (0.985, which leaves room for converters
/// whose steps are not symmetric) fewer may be chance. At full scale one run of three equal samples
/// is proof.
///
/// Not seen: tops that a filter after the clipping has tilted or rounded; a top of a single sample.
class FlatTopFinder {
 public:
  explicit FlatTopFinder(double sample_rate);
  void push(std::span<const float> samples);
  FlatTops finish();

 private:
  struct Side {
    float extreme{};
    std::int64_t runs{};
    std::int64_t samples{};
    bool equal_at_full_scale{};
  };
  struct Block {
    Side upper;
    Side lower;  ///< of the negated samples
    std::size_t length{};
  };
  static Side examine(std::span<const float> block, float sign, float step);
  void end_block();

  double sample_rate_;
  std::size_t length_;
  std::vector<float> pending_;
  std::vector<Block> blocks_;
};

}  // namespace howl
