#pragma once

#include <cmath>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "dsp/decimator.h"
#include "dsp/spectrogram.h"
#include "dsp/speed_curve.h"
#include "dsp/time_spans.h"

namespace howl {

/// A series of lines at multiples of the mains frequency.
struct MainsHum {
  double mains_hz{};  ///< 50 or 60
  double power{};     ///< mean square of its first six lines
  /// The lines may as well be the engine's: it ran at a speed whose half orders fall on them.
  bool may_be_engine{};
};

struct HumAndRumble {
  std::optional<MainsHum> hum;
  /// Stretches in which shaking and wind below 40 Hz outweigh the rest by 10 dB or more.
  TimeSpans rumble;
  double power_below_40_hz{};  ///< mean square, all of it, rumble or not
  double seconds{};            ///< judged; 0 for less than two blocks of two seconds
};

/// What disturbs a recording slowly: mains hum and rumble, from spectra of two seconds.
///
/// Hum: 50 or 60 Hz and their multiples up to the sixth, give or take 0.3 % and 0.1 Hz (a grid in
/// order stays within 0.2 Hz of 50 Hz, from memory; recorders' clocks are better than that). A line
/// counts if it stands 10 dB over the median about it in seven blocks of ten: an engine order that
/// sweeps past does not. A line more than 10 dB over the stronger of the first two is something
/// else that lies there. Two lines of one base are needed, one of them the first or second, that
/// are not within 1 % (or three times the speed's own error, or what the speed moves by) of a half
/// order of the engine. Where the engine may explain the lines, they are reported as
/// `may_be_engine` if their base stands as still as mains does (0.03 Hz), else not at all.
///
/// Rumble: what is left between 2 and 40 Hz after the lines about each half order of the engine
/// were taken out, so a lower bound.
///
/// The thresholds are our choice: 10 dB of range is what one and a half bits of converter are
/// worth, and noise alone puts a line 10 dB over the median in one of a thousand blocks.
class HumAndRumbleFinder {
 public:
  /// No speed: no engine runs, so no order is spared.
  HumAndRumbleFinder(double sample_rate, std::optional<SpeedCurve> speed);
  void push(std::span<const float> samples);
  HumAndRumble finish();

 private:
  void take_columns(std::size_t first, std::span<const float> columns);
  void watch_hum(std::span<const float> lines);
  bool has_rumble(double from, double to, std::span<const float> lines) const;
  bool may_be_order(double frequency) const;
  std::optional<Interval> half_orders_between(double from, double to, double least_slack) const;

  static constexpr std::size_t kLines = 6;
  struct Line {
    std::size_t blocks{};  ///< in which it stands out
    double power{};        ///< summed over those
    double off{};          ///< of the base from the mains frequency, Hz, likewise
    double off_squared{};
    double strength() const { return power / static_cast<double>(blocks); }
    double mean() const { return off / static_cast<double>(blocks); }
    double scatter() const {
      const double variance = off_squared / static_cast<double>(blocks) - mean() * mean();
      return variance > 0.0 ? std::sqrt(variance) : 0.0;
    }
  };
  std::optional<MainsHum> series(std::size_t mains) const;

  std::optional<SpeedCurve> speed_;
  Decimator decimator_;
  double rate_;
  SpectrogramStream spectrogram_;
  double spacing_;
  std::vector<float> slow_;
  std::size_t blocks_{};
  std::vector<Line> lines_;  ///< six of 50 Hz, then six of 60 Hz
  TimeSpans rumble_;
  double below_40_hz_{};  ///< summed over the blocks
};

}  // namespace howl
