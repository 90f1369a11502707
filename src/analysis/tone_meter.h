#pragma once

#include <map>
#include <optional>
#include <span>
#include <vector>

#include "dsp/level_change.h"
#include "dsp/statistics.h"
#include "src/analysis/analysis.h"
#include "src/analysis/take_audio.h"

namespace howl {

/// Where a tone is looked for in a take.
struct ToneWindow {
  AnalysisRequest::Band place;
  bool with_noise{};  ///< a whole band: what is in it counts, noise too
};

/// What a take shows in one window.
struct WindowReading {
  WindowBlocks blocks;  ///< those that its quality leaves
  /// By ECMA-418-1 where a hold shows a peak in the window; in a sweep the tone's mean power over
  /// the mean noise in its critical band. None where nothing stands out.
  std::optional<double> tone_to_noise_db;
  double limit_db{};  ///< from which it is prominent
  bool prominent{};
};

struct TakeReading {
  std::vector<std::optional<WindowReading>> windows;  ///< none: beyond what the take can show
  std::map<int, double> rest_db;  ///< noise between the tones by third-octave index (100 Hz–4 kHz)
  double block_seconds{};         ///< between starts of blocks in Hz
  double share_left_out{};        ///< of the take, for its quality, 0 … 1
  bool clipped{};
};

/// Reads a take through once for all windows. A window in orders follows the speed curve. Nothing
/// but block powers is kept, so a long take needs little memory.
TakeReading read_take(const TakeAudio& take, std::span<const ToneWindow> windows);

/// How wide one line of a take's spectra is: in Hz, and in orders.
double line_hz(const TakeAudio& take);
double line_orders(const TakeAudio& take);

}  // namespace howl
