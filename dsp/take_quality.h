#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "dsp/contact.h"
#include "dsp/flat_tops.h"
#include "dsp/hum_and_rumble.h"
#include "dsp/lost_samples.h"
#include "dsp/speed_curve.h"
#include "dsp/time_spans.h"

namespace howl {

/// Everything that one pass over a take's samples shows of how well it was recorded. Powers are
/// mean squares, samples re full scale 1.
struct TakeQuality {
  double sample_rate{};
  double seconds{};
  double peak{};
  double mean{};
  double power{};               ///< the mean taken off
  double power_above_rumble{};  ///< what is left of that without what lies below 40 Hz
  double step{};  ///< smallest step between two samples: the converter's, for whole numbers
  /// Noise density from 500 Hz to 2 kHz over that which rounding to `step` makes, step²/(6·rate)
  /// (Bennett 1948: step²/12, even from 0 to rate/2). None for less than a block, or a rate so low
  /// that it has no such octaves.
  std::optional<double> over_rounding_db;
  FlatTops clipping;
  LostSamples lost;
  HumAndRumble slow;
  ContactFaults contact;
};

/// Watches a stream of one take. `speed` tells engine orders from hum and rumble, and levels
/// that follow the engine from contact; none where the engine is off. Memory grows by about 1 kB a
/// second.
class TakeQualityMeter {
 public:
  TakeQualityMeter(double sample_rate, std::optional<SpeedCurve> speed);
  void push(std::span<const float> samples);
  TakeQuality finish();

 private:
  double sample_rate_;
  std::int64_t samples_{};
  double sum_{};
  double squares_{};
  double peak_{};
  FlatTopFinder flat_tops_;
  LostSampleFinder lost_;
  HumAndRumbleFinder slow_;
  ContactFinder contact_;
};

}  // namespace howl
