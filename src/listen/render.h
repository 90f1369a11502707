#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <span>

#include "dsp/statistics.h"
#include "src/analysis/analysis.h"
#include "src/analysis/isolate.h"
#include "src/case/case.h"

namespace howl {

/// What of a take is heard.
enum class Heard {
  take,     ///< all of it
  band,     ///< the suspect band
  tone,     ///< one order or pitch alone
  without,  ///< the take without it
};

/// The longest sound that is prepared at once, as it is heard: at 48 kHz 35 MB.
inline constexpr double kLongestHeardSeconds = 180.0;
inline constexpr double kShortestHeardSeconds = 0.05;

struct HearingRequest {
  Heard heard{};
  Interval range_s;                           ///< of the take
  std::optional<AnalysisRequest::Band> band;  ///< for Heard::band
  IsolateRequest tone;                        ///< for tone and without: one order or pitch
  int slowness{1};                            ///< 1, 2 or 4
  double rate{48000.0};                       ///< of what is made, Hz
};

/// `range` within the take, no longer than kLongestHeardSeconds as it is heard, and no shorter than
/// kShortestHeardSeconds where the take allows it.
Interval heard_range(const Interval& range, double take_seconds, int slowness);

/// Samples that a request makes.
std::size_t heard_samples(const HearingRequest& request);

/// Makes what is heard, piece after piece, in bounded memory: first what is asked for, then slower,
/// then at the other rate. `range_s` has to be as heard_range() gives it. Throws Error: the
/// recording or its speed cannot be used, the tone cannot be followed, a band in orders with the
/// engine off. What `to` throws goes through, which is how it is broken off.
void render_heard(const std::filesystem::path& folder, const Take& take,
                  std::optional<int> cylinders, const HearingRequest& request,
                  const std::function<void(std::span<const float>)>& to);

/// Mean square of a take in a band, or in all of it, over a range; for matching levels. Throws as
/// render_heard().
double heard_power(const std::filesystem::path& folder, const Take& take,
                   std::optional<int> cylinders, const Interval& range_s,
                   const std::optional<AnalysisRequest::Band>& band);

}  // namespace howl
