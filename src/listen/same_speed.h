#pragma once

#include "dsp/statistics.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// The range of `other` in which its engine ran as in `range` of `take`: for holds the same
/// seconds, for sweeps from where its speed comes closest to that at the range's beginning. No
/// longer than either take has. Both ranges come out equally long.
struct RangePair {
  Interval take;
  Interval other;
};
RangePair same_speed_ranges(const TakeAudio& take, const Interval& range, const TakeAudio& other);

}  // namespace howl
