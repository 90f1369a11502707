#include "dsp/time_stretch.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numbers>
#include <utility>

#include "dsp/require.h"

namespace howl {
namespace {

constexpr double kStretchFrameSeconds = 0.085;
constexpr std::size_t kStretchOverlap = 4;
constexpr std::size_t kPeakReach = 2;  // lines to either side that a peak is above
constexpr double kTurn = 2.0 * std::numbers::pi;

FrameShape shape_for(double sample_rate, int slowness) {
  require(slowness == 1 || slowness == 2 || slowness == 4,
          "TimeStretch: once, twice or four times");
  const auto least =
      static_cast<std::size_t>(std::max(256.0, 0.75 * kStretchFrameSeconds * sample_rate));
  const std::size_t length = std::bit_ceil(least);
  const std::size_t hop = length / kStretchOverlap;
  return {length, hop / static_cast<std::size_t>(slowness), hop};
}

double within_half_a_turn(double phase) { return phase - kTurn * std::round(phase / kTurn); }

double phase_of(std::complex<float> value) {
  return std::atan2(static_cast<double>(value.imag()), static_cast<double>(value.real()));
}

}  // namespace

TimeStretch::TimeStretch(double sample_rate, int slowness, Sink sink)
    : shape_(shape_for(sample_rate, slowness)),
      power_(shape_.length / 2 + 1),
      came_phase_(power_.size()),
      made_phase_(power_.size()),
      frames_(
          shape_,
          [this](std::size_t /*frame*/, std::span<std::complex<float>> spectrum) {
            change(spectrum);
          },
          std::move(sink)) {}

void TimeStretch::find_peaks(std::span<const std::complex<float>> spectrum) {
  for (std::size_t k = 0; k < spectrum.size(); ++k) power_[k] = std::norm(spectrum[k]);
  peaks_.clear();
  for (std::size_t k = 1; k + 1 < power_.size(); ++k) {
    const std::size_t from = k < kPeakReach ? 0 : k - kPeakReach;
    const std::size_t to = std::min(k + kPeakReach, power_.size() - 1);
    bool above = power_[k] > 0;
    for (std::size_t i = from; i <= to && above; ++i)
      above = i == k || power_[i] < power_[k] || (i > k && power_[i] == power_[k]);
    if (above) peaks_.push_back(k);
  }
}

/// By how much the lines around a peak are turned, so that its tone goes on from the frame before
/// with the frequency that it has: equations 4 and 8 of the paper.
double TimeStretch::turned_at(std::size_t peak, double phase) const {
  const double hop_in = static_cast<double>(shape_.hop_in);
  const double line = kTurn * static_cast<double>(peak) / static_cast<double>(shape_.length);
  const double ahead = within_half_a_turn(phase - came_phase_[peak] - line * hop_in);
  const double frequency = line + ahead / hop_in;
  return made_phase_[peak] + frequency * static_cast<double>(shape_.hop_out) - phase;
}

void TimeStretch::change(std::span<std::complex<float>> spectrum) {
  find_peaks(spectrum);
  std::size_t region = 0;
  std::complex<double> turn{1.0, 0.0};
  double angle = 0;
  std::size_t turned_for = peaks_.size();
  for (std::size_t k = 0; k < spectrum.size(); ++k) {
    // A region ends half way to the next peak.
    while (region + 1 < peaks_.size() && 2 * k > peaks_[region] + peaks_[region + 1]) ++region;
    if (begun_ && region < peaks_.size() && turned_for != region) {
      angle = turned_at(peaks_[region], phase_of(spectrum[peaks_[region]]));
      turn = std::polar(1.0, angle);
      turned_for = region;
    }
    const double phase = phase_of(spectrum[k]);
    // The peak's own phases are read when its region begins, before they are overwritten: lines
    // below it belong to the same region.
    spectrum[k] = std::complex<float>(std::complex<double>(spectrum[k]) * turn);
    came_phase_[k] = phase;
    made_phase_[k] = within_half_a_turn(phase + angle);
  }
  begun_ = true;
}

}  // namespace howl
