#include "dsp/moving_band.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numbers>
#include <utility>

#include "dsp/require.h"

namespace howl {
namespace {

constexpr double kLinesInBand = 8.0;
constexpr double kFadeLines = 4.0;
constexpr double kLongestSeconds = 0.35;  // before it is rounded up to a power of two
constexpr double kShortestSeconds = 0.02;

std::size_t length_for(double sample_rate, double narrowest_hz) {
  require(narrowest_hz > 0, "MovingBand: a band has a width");
  const double seconds = std::clamp(kLinesInBand / narrowest_hz, kShortestSeconds, kLongestSeconds);
  return std::bit_ceil(static_cast<std::size_t>(std::max(64.0, seconds * sample_rate)));
}

/// 1 within the edges, 0 from kFadeLines outside on; `line` and edges in lines.
float gain_at(double line, const Interval& edges) {
  const double outside = std::max(edges.low - line, line - edges.high);
  if (outside <= 0) return 1.0F;
  if (outside >= kFadeLines) return 0.0F;
  return static_cast<float>(0.5 + 0.5 * std::cos(std::numbers::pi * outside / kFadeLines));
}

}  // namespace

MovingBand::MovingBand(double sample_rate, double narrowest_hz, Edges edges, Sink sink)
    : sample_rate_(sample_rate),
      length_(length_for(sample_rate, narrowest_hz)),
      edges_(std::move(edges)),
      frames_(
          {length_, length_ / 4, length_ / 4},
          [this](std::size_t frame, std::span<std::complex<float>> spectrum) {
            const std::size_t hop = length_ / 4;
            const double time = static_cast<double>(frame * hop) / sample_rate_;
            const double lines_per_hz = static_cast<double>(length_) / sample_rate_;
            const Interval hz = edges_(Seconds(time));
            const Interval lines{hz.low * lines_per_hz, hz.high * lines_per_hz};
            for (std::size_t k = 0; k < spectrum.size(); ++k)
              spectrum[k] *= gain_at(static_cast<double>(k), lines);
          },
          std::move(sink)) {}

}  // namespace howl
