#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "dsp/fft.h"
#include "dsp/statistics.h"
#include "dsp/units.h"
#include "dsp/window.h"

namespace howl {

struct SpectrogramParameters {
  WindowKind window{WindowKind::hann};
  std::size_t length{4096};  ///< samples a block; even
  std::size_t hop{1024};     ///< samples between starts of blocks; 1…length
};

/// Columns of a spectrogram from a stream, in memory that does not grow with the stream.
///
/// A column is the one-sided power spectrum of one block, length/2 + 1 lines from 0 Hz to half the
/// sample rate, scaled as PowerSpectrum is: a sine of amplitude A on a line reads A²/2. Column m
/// belongs to the centre of its block, time (m·hop + length/2)/sample rate. Its numbers do not
/// depend on how the audio is cut into chunks. A sample that is not finite spoils the columns whose
/// blocks hold it, and no other.
class SpectrogramStream {
 public:
  /// Receives whole columns one after another, the first of which is column `first`. The span is
  /// valid during the call only.
  using Sink = std::function<void(std::size_t first, std::span<const float> columns)>;

  /// Throws std::invalid_argument where length or hop are outside their ranges.
  explicit SpectrogramStream(SpectrogramParameters parameters);

  /// Columns come in batches, so some may still wait when this returns.
  void push(std::span<const float> samples, const Sink& sink);
  /// Delivers what waits. The stream may go on afterwards.
  void flush(const Sink& sink);

  std::size_t lines() const { return fft_.bins(); }

 private:
  void emit(std::size_t columns, const Sink& sink);

  SpectrogramParameters parameters_;
  RealFft fft_;
  std::vector<float> window_;
  std::vector<float> pending_;
  std::vector<float> columns_;
  std::size_t delivered_{};
};

/// Powers over time and frequency on a regular grid: power[column·rows + row].
struct Spectrogram {
  Seconds first_time;  ///< centre of column 0
  Seconds time_step;
  Hertz first_frequency;  ///< centre of row 0
  Hertz frequency_step;
  std::size_t columns{};
  std::size_t rows{};
  std::vector<float> power;

  Seconds time(std::size_t column) const {
    return first_time + static_cast<double>(column) * time_step;
  }
  Hertz frequency(std::size_t row) const {
    return first_frequency + static_cast<double>(row) * frequency_step;
  }
  std::span<const float> column(std::size_t index) const {
    return std::span(power).subspan(index * rows, rows);
  }
};

/// Every column and line, length/(2·hop) floats a sample, so for short signals. No columns where
/// the signal is shorter than one block.
Spectrogram spectrogram(std::span<const float> samples, double sample_rate,
                        SpectrogramParameters parameters);

struct OverviewParameters {
  SpectrogramParameters spectrogram{};
  std::size_t max_columns{1200};      ///< ≥ 1
  std::size_t max_rows{500};          ///< ≥ 1
  std::optional<Interval> band_hz{};  ///< lines to show, at least one; none: all of them
};

/// A spectrogram small enough to look at, from a stream of any length.
///
/// A cell takes the largest of its lines, so that a narrow tone keeps its level however tall the
/// cell is (and noise looks louder by the same choice), and the mean of its blocks, so that a
/// steady tone keeps its level and noise is smoothed. As the stream grows, pairs of columns are
/// merged: past the first `max_columns` blocks there are between max_columns/2 and max_columns
/// columns. The last column and the topmost row may stand for fewer blocks and lines than the
/// others.
class SpectrogramOverview {
 public:
  /// Throws std::invalid_argument as SpectrogramStream does, and where the band holds no line.
  SpectrogramOverview(double sample_rate, OverviewParameters parameters);
  ~SpectrogramOverview();
  SpectrogramOverview(SpectrogramOverview&&) noexcept;
  SpectrogramOverview& operator=(SpectrogramOverview&&) noexcept;

  void push(std::span<const float> samples);
  /// Of all the samples so far. No columns before the first whole block.
  Spectrogram result() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

Spectrogram spectrogram_overview(std::span<const float> samples, double sample_rate,
                                 OverviewParameters parameters);

}  // namespace howl
