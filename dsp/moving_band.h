#pragma once

#include <cstddef>
#include <functional>
#include <span>

#include "dsp/overlap_add.h"
#include "dsp/statistics.h"
#include "dsp/units.h"

namespace howl {

/// Lets one band of frequencies through, whose edges may move: with an engine, for a band in
/// orders. For listening and for levels over seconds, not for phases.
///
/// Frames long enough for eight lines in the narrowest band, 20 ms to 0.7 s, whose lines outside
/// the edges fade over four lines (overlap_add.h). A tone inside the edges keeps its level within
/// 0.3 dB, at the edges themselves; one further outside than 8/length (at most half the band's
/// width, where frames are not as long as they may be) is 60 dB down or more. Without delay, and as
/// long as what came.
class MovingBand {
 public:
  using Sink = std::function<void(std::span<const float>)>;
  /// Both edges in Hz, at a time from the first sample on.
  using Edges = std::function<Interval(Seconds)>;

  /// `narrowest_hz` > 0: what the band is at least wide; else std::invalid_argument.
  MovingBand(double sample_rate, double narrowest_hz, Edges edges, Sink sink);

  void push(std::span<const float> samples) { frames_.push(samples); }
  void finish() { frames_.finish(); }
  double frame_seconds() const { return static_cast<double>(length_) / sample_rate_; }

 private:
  double sample_rate_;
  std::size_t length_;
  Edges edges_;
  OverlapAdd frames_;
};

}  // namespace howl
