#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <unordered_map>
#include <vector>

#include "dsp/time_spans.h"

namespace howl {

/// Places where the recording lost sound: what a driver puts in the place of buffers that came too
/// late, or does not.
struct LostSamples {
  TimeSpans stuck;     ///< one value, zero or another, for 1 ms or more
  TimeSpans repeated;  ///< the same samples once more
  TimeSpans jumps;     ///< a step from one sample to the next: something is missing between
};

/// Finds lost samples in a stream; memory grows with what is found only.
///
/// Stuck: 1 ms or more (eight samples at least) of one value, where the 5 ms before and after it
/// move by 8 quantisation steps a sample on average. Slow sound rests on one value too, but enters
/// it slowly. Values near the highest seen are clipping and not counted; silence before the first
/// and after the last sound is not either.
///
/// Repeated: 2 ms or more, 64 samples at least, equal to those up to half a second before, of which
/// half or more change from one to the next. Two stretches of sound are never equal; where more
/// than a fifth of the take repeats, it was put together or computed, and nothing is reported.
///
/// Jump: a difference between two neighbouring samples that is three times as large as any other
/// within 10 ms on either side, two samples about it apart, and 16 steps or more. In noise, which
/// is the hardest case, the largest of so many differences is about 3.3 standard deviations, so
/// that three times of it is out of chance's reach. A knock is no jump, because it rings on: its
/// first difference is not alone. Steps smaller than the noise are not seen, and do no harm.
///
/// These lengths and factors are our choice, for the reasons given.
class LostSampleFinder {
 public:
  explicit LostSampleFinder(double sample_rate);
  void push(std::span<const float> samples);
  LostSamples finish();
  /// Smallest step between two samples so far; 0 while none differ.
  double step() const { return step_; }

 private:
  struct Rest {
    std::int64_t from;
    std::int64_t to;
    double before;
    double after;
  };
  struct Jump {
    std::int64_t at;
    double height;
  };
  void watch_rest(float sample);
  void watch_repeat(float sample);
  void end_repeat();
  void watch_jumps(float sample);
  void examine_cell();

  double sample_rate_;
  std::int64_t position_{};
  double step_{};
  float last_{};

  // stuck
  std::size_t least_rest_;
  double memory_;
  float highest_{};
  double activity_{};
  double activity_before_{};
  std::int64_t rest_from_{};
  std::size_t rest_{};
  std::vector<Rest> rests_;
  std::int64_t after_left_{};
  double after_sum_{};

  // repeated
  std::vector<float> ring_;
  std::unordered_map<std::uint64_t, std::int64_t> anchors_;
  std::uint64_t hash_{};
  std::int64_t lag_{};
  std::int64_t equal_{};
  std::int64_t changes_{};
  std::int64_t repeated_samples_{};
  TimeSpans repeated_;

  // jumps: differences of nine cells, the middle one is judged
  std::size_t cell_;
  std::vector<float> differences_;
  std::int64_t first_difference_{};
  std::vector<Jump> jumps_;
};

}  // namespace howl
