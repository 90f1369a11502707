#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <vector>

#include "dsp/spectrogram.h"
#include "dsp/spectrum.h"
#include "dsp/speed_curve.h"
#include "dsp/units.h"

namespace howl {

struct LivePictureParameters {
  double sample_rate{};
  /// Engine speed over time, which counts from the first sample, as far as it is known by then.
  std::optional<SpeedCurve> speed{};
  Seconds remembered{20.0};  ///< how long columns of the spectrogram are kept
};

/// The strongest tone of the last seconds.
struct LiveTone {
  Hertz frequency;
  std::optional<Order> order;  ///< where the speed is known
  Decibel level;               ///< dB re full-scale sine
  Decibel above_floor;         ///< over the noise about it, line for line
};

/// What can be seen of a sound while it is made: the newest columns of its spectrogram, a running
/// spectrum, and its strongest tone. Whoever shows it (window, terminal) adds nothing.
///
/// Blocks are the power of two of samples that lasts nearest to 85 ms (4096 at 48 kHz), an eighth
/// apart. A tone that begins stands 6 dB below its full level as soon as half a block has passed:
/// samples_to_show() samples after it began, at the latest. The running spectrum is an exponential
/// average with the time constant S of IEC 61672-1 (1 s).
///
/// Numbers do not depend on how the sound is cut into chunks. Not thread-safe.
class LivePicture {
 public:
  explicit LivePicture(LivePictureParameters parameters);

  void push(std::span<const float> samples);

  std::size_t lines() const { return stream_.lines(); }
  Hertz line_spacing() const { return Hertz(spacing_); }
  Seconds column_spacing() const;
  /// Columns since the beginning; the newest is the one before it.
  std::uint64_t columns_so_far() const { return first_kept_ + columns_.size(); }
  /// The oldest column that is still kept.
  std::uint64_t first_kept_column() const { return first_kept_; }
  /// One that is kept; scaled as PowerSpectrum is.
  std::span<const float> column(std::uint64_t index) const;

  /// No lines before the first column.
  PowerSpectrum spectrum() const;
  /// None while nothing stands 10 dB out of the noise (find_peaks()), from 40 Hz on.
  std::optional<LiveTone> tone() const;

  /// Most samples from the beginning of a tone to its being seen.
  std::size_t samples_to_show() const { return length_ / 2 + hop_; }

 private:
  void take_column(std::span<const float> column);
  Seconds now() const;  ///< centre of the newest block

  LivePictureParameters parameters_;
  std::size_t length_;
  std::size_t hop_;
  double spacing_;
  SpectrogramStream stream_;
  std::deque<std::vector<float>> columns_;
  std::uint64_t first_kept_{};
  std::size_t most_kept_;
  std::vector<double> running_;
  std::vector<double> window_;
};

}  // namespace howl
