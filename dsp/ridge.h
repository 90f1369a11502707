#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "dsp/units.h"

namespace howl {

/// A tone seen in one frame of a spectrogram or order map.
struct RidgePoint {
  double time{};           ///< s
  double frequency{};      ///< Hz
  double sigma{};          ///< one standard deviation of `frequency`, Hz
  double power{};          ///< mean square of the tone
  double floor_density{};  ///< mean square per Hz of the noise around it
  double height_db{};      ///< of the line over the floor line
};

struct PeakFrame {
  double time{};
  std::vector<RidgePoint> peaks;
  double log_speed{};  ///< ln n of the engine then; the same in all frames where nobody knows
};

/// A tone followed through time.
struct Ridge {
  std::vector<RidgePoint> points;  ///< by time, at most one a frame
};

struct RidgeParameters {
  /// Slopes that a tone may start with, in 1/s of its own frequency: from fixed (0) to locked (the
  /// speed's own d ln n/dt), whichever sign. Inside that span no slope is preferred, so that
  /// linking does not favour a law.
  double slope_low{0.0};
  double slope_high{0.0};
  double slope_margin{0.08};  ///< 1/s, added on both sides
  double longest_gap{0.5};    ///< s without a peak after which a ridge ends
  double shortest_life{1.0};  ///< s; shorter ridges are dropped
  std::size_t fewest_points{8};
  double fewest_points_share{0.6};  ///< of the frames that the ridge lives through
};

/// Links peaks of consecutive frames to ridges by prediction (after McAulay and Quatieri 1986, IEEE
/// Trans. ASSP 34, 744–754, with a local line as predictor, so that crossings survive): one in ln
/// f, and one in ln f − ln n, whichever comes nearer. They differ only where the speed begins or
/// ceases to change, and a tone that follows it with it; no law is favoured. Frames sorted by time.
std::vector<Ridge> link_ridges(std::span<const PeakFrame> frames,
                               const RidgeParameters& parameters);

/// Cuts a ridge that hops between parallel lines. `log_speed` holds ln n at each of its points.
/// Where more than half of what can tell, step by step or over strides of four steps, follows the
/// speed
/// (|Δ ln f − Δ ln n| small), the ridge is cut at the steps that do not; where more than half
/// stands still (Δ ln f small), at those that move. Otherwise, and where no step is off by more
/// than 0.8 %, it is returned whole. Pieces of fewer than six points are dropped.
std::vector<Ridge> split_at_hops(const Ridge& ridge, std::span<const double> log_speed);

}  // namespace howl
