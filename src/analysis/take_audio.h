#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "dsp/speed_curve.h"
#include "dsp/time_spans.h"
#include "src/case/case.h"
#include "src/speed/speed_log.h"

namespace howl {

/// One take as the analysis sees it: samples that can be streamed as often as needed, and what is
/// known about the engine meanwhile. Where the samples come from is not its business.
struct TakeAudio {
  std::string id;
  std::string point;
  LoadState load;
  std::optional<double> road_speed_kmh;  ///< of the whole take
  std::vector<RoadSpeedPoint> road;      ///< or along it, from a log; times rise
  /// No road speed was written down, though the vehicle moved in other takes of the case.
  bool motion_unknown{};

  bool engine_off{};  ///< then `speed` means nothing
  bool background{};  ///< the suspect did not work

  double sample_rate{};
  double seconds{};
  SpeedCurve speed = SpeedCurve::constant(Rpm(1000.0), 0.01);
  std::string speed_source;
  /// Where the record says the speed, as in TakeSpeed; empty: throughout.
  TimeSpans speed_known{};
  /// Mean engine speed that the sound settles (check_speed); none: not asked, or left open.
  std::optional<double> heard_rpm{};
  /// How far the speed record may lag the sound, one standard deviation in s.
  double lag_sigma{};
  /// How far, in s, a log ran behind the sound before it was shifted; none: not from a log, or not
  /// clear.
  std::optional<double> lag_taken_out{};
  /// A log whose place along the sound was looked for and not found: it may be seconds off.
  bool lag_unclear{};
  /// What its quality leaves of it (judge_quality): stretches that no level or spectrum should use,
  /// and the share of clipped samples.
  TimeSpans left_out;
  double clipped_share{};
  /// Calls back with chunks of samples, in order, until the end.
  std::function<void(const std::function<void(std::span<const float>)>&)> stream;
  /// The same with the reference channel beside it; empty where the take has none.
  using TakeBoth =
      std::function<void(std::span<const float> probe, std::span<const float> reference)>;
  std::function<void(const TakeBoth&)> stream_both;
};

/// Road speed in km/h at a moment of the take (linear between logged points); none where not known.
std::optional<double> road_speed_at(const TakeAudio& take, double time);

/// Stretches of the take in which its speed is not known. What a take's quality leaves of it
/// (heed_quality) has none of them.
TimeSpans without_speed(const TakeAudio& take);

/// Slowest and fastest speed during the take.
SpeedCurve::Range speed_range(const TakeAudio& take);

/// Whether the speed stays within 6 % during the take: a hold. Else it is a sweep.
bool is_hold(const TakeAudio& take);

}  // namespace howl
