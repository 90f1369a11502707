#include "dsp/spectrogram.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <stdexcept>

namespace howl {
namespace {

/// Blocks transformed together: a multiple of every path's lanes.
constexpr std::size_t batch = 32;

void require(bool holds, const char* what) {
  if (!holds) throw std::invalid_argument(what);
}

SpectrogramParameters checked(SpectrogramParameters parameters) {
  require(parameters.length >= 2 && parameters.length % 2 == 0,
          "spectrogram: the block length must be even");
  require(parameters.hop >= 1 && parameters.hop <= parameters.length,
          "spectrogram: the hop must be at least 1 and at most the block length");
  return parameters;
}

/// The window with √2/Σw folded in: |X|² of it is a tone's mean square, except at 0 and the highest
/// line, which have no mirror image and come out twice too large.
std::vector<float> tone_scaled(WindowKind kind, std::size_t length) {
  const auto window = make_window(kind, length);
  const double scale = std::numbers::sqrt2 / std::accumulate(window.begin(), window.end(), 0.0);
  std::vector<float> scaled(length);
  std::transform(window.begin(), window.end(), scaled.begin(),
                 [&](double w) { return static_cast<float>(w * scale); });
  return scaled;
}

std::size_t samples_of(std::size_t blocks, const SpectrogramParameters& parameters) {
  return parameters.length + (blocks - 1) * parameters.hop;
}

std::size_t whole_blocks(std::size_t samples, const SpectrogramParameters& parameters) {
  if (samples < parameters.length) return 0;
  return (samples - parameters.length) / parameters.hop + 1;
}

/// Centre of the middle of `blocks` blocks that start with block `first`.
Seconds centre(std::size_t first, std::size_t blocks, double sample_rate,
               const SpectrogramParameters& parameters) {
  const double block = static_cast<double>(first) + 0.5 * static_cast<double>(blocks - 1);
  return Seconds(
      (block * static_cast<double>(parameters.hop) + 0.5 * static_cast<double>(parameters.length)) /
      sample_rate);
}

Hertz line_spacing(double sample_rate, const SpectrogramParameters& parameters) {
  return Hertz(sample_rate / static_cast<double>(parameters.length));
}

}  // namespace

SpectrogramStream::SpectrogramStream(SpectrogramParameters parameters)
    : parameters_(checked(parameters)),
      fft_(parameters.length),
      window_(tone_scaled(parameters.window, parameters.length)),
      columns_(batch * fft_.bins()) {
  pending_.reserve(samples_of(batch, parameters_));
}

void SpectrogramStream::push(std::span<const float> samples, const Sink& sink) {
  const std::size_t full = samples_of(batch, parameters_);
  while (!samples.empty()) {
    const auto taken = samples.first(std::min(samples.size(), full - pending_.size()));
    pending_.insert(pending_.end(), taken.begin(), taken.end());
    samples = samples.subspan(taken.size());
    if (pending_.size() == full) emit(batch, sink);
  }
}

void SpectrogramStream::flush(const Sink& sink) {
  const std::size_t columns = whole_blocks(pending_.size(), parameters_);
  if (columns > 0) emit(columns, sink);
}

void SpectrogramStream::emit(std::size_t columns, const Sink& sink) {
  const std::span<float> powers = std::span(columns_).first(columns * lines());
  fft_.power(pending_, parameters_.hop, columns, window_, powers);
  for (std::size_t start = 0; start < powers.size(); start += lines()) {
    powers[start] *= 0.5F;
    powers[start + lines() - 1] *= 0.5F;
  }
  pending_.erase(pending_.begin(),
                 pending_.begin() + static_cast<std::ptrdiff_t>(columns * parameters_.hop));
  const std::size_t first = delivered_;
  delivered_ += columns;
  sink(first, powers);
}

Spectrogram spectrogram(std::span<const float> samples, double sample_rate,
                        SpectrogramParameters parameters) {
  SpectrogramStream stream(parameters);
  const Hertz spacing = line_spacing(sample_rate, parameters);
  Spectrogram result{.first_time = centre(0, 1, sample_rate, parameters),
                     .time_step = Seconds(static_cast<double>(parameters.hop) / sample_rate),
                     .first_frequency = Hertz(0.0),
                     .frequency_step = spacing,
                     .columns = whole_blocks(samples.size(), parameters),
                     .rows = stream.lines(),
                     .power = {}};
  result.power.reserve(result.columns * result.rows);
  const auto append = [&](std::size_t, std::span<const float> columns) {
    result.power.insert(result.power.end(), columns.begin(), columns.end());
  };
  stream.push(samples, append);
  stream.flush(append);
  return result;
}

SpectrogramOverview::SpectrogramOverview(double sample_rate, OverviewParameters parameters)
    : sample_rate_(sample_rate), parameters_(parameters), stream_(parameters.spectrogram) {
  require(parameters.max_columns >= 1 && parameters.max_rows >= 1,
          "spectrogram: an overview needs at least one column and one row");
  const double spacing = line_spacing(sample_rate, parameters.spectrogram).value;
  const auto top = static_cast<double>(stream_.lines() - 1);
  const Interval band = parameters.band_hz.value_or(Interval{0.0, top * spacing});
  const double first = std::max(std::ceil(band.low / spacing), 0.0);
  const double last = std::min(std::floor(band.high / spacing), top);
  require(first <= last, "spectrogram: no line lies in the band");

  first_line_ = static_cast<std::size_t>(first);
  line_count_ = static_cast<std::size_t>(last) - first_line_ + 1;
  lines_per_row_ = (line_count_ + parameters.max_rows - 1) / parameters.max_rows;
  rows_ = (line_count_ + lines_per_row_ - 1) / lines_per_row_;
}

void SpectrogramOverview::push(std::span<const float> samples) {
  stream_.push(samples, [this](std::size_t, std::span<const float> columns) { add(columns); });
}

void SpectrogramOverview::add(std::span<const float> columns) {
  for (; !columns.empty(); columns = columns.subspan(stream_.lines())) {
    add_column(columns.subspan(first_line_, line_count_));
  }
}

void SpectrogramOverview::add_column(std::span<const float> lines) {
  if (sums_.empty() || blocks_in_last_ == blocks_per_column_) open_cell_column();
  const std::span<double> cells = std::span(sums_).last(rows_);
  for (std::size_t row = 0; row < rows_; ++row) {
    const auto of_row = lines.first(std::min(lines_per_row_, lines.size()));
    cells[row] += static_cast<double>(*std::max_element(of_row.begin(), of_row.end()));
    lines = lines.subspan(of_row.size());
  }
  ++blocks_in_last_;
}

/// Where there is no room, merging makes some; after it the last column may have room itself.
void SpectrogramOverview::open_cell_column() {
  if (sums_.size() == parameters_.max_columns * rows_) merge_pairs();
  if (!sums_.empty() && blocks_in_last_ < blocks_per_column_) return;
  sums_.resize(sums_.size() + rows_);
  blocks_in_last_ = 0;
}

void SpectrogramOverview::merge_pairs() {
  const std::size_t columns = sums_.size() / rows_;
  for (std::size_t column = 1; column < columns; ++column) {
    for (std::size_t row = 0; row < rows_; ++row) {
      double& to = sums_[column / 2 * rows_ + row];
      to = (column % 2 == 0 ? 0.0 : to) + sums_[column * rows_ + row];
    }
  }
  sums_.resize((columns + 1) / 2 * rows_);
  if (columns % 2 == 0) blocks_in_last_ += blocks_per_column_;
  blocks_per_column_ *= 2;
}

Spectrogram SpectrogramOverview::result() {
  stream_.flush([this](std::size_t, std::span<const float> columns) { add(columns); });
  const SpectrogramParameters& blocks = parameters_.spectrogram;
  const Hertz spacing = line_spacing(sample_rate_, blocks);
  const double middle_line =
      static_cast<double>(first_line_) + 0.5 * static_cast<double>(lines_per_row_ - 1);
  Spectrogram result{
      .first_time = centre(0, blocks_per_column_, sample_rate_, blocks),
      .time_step = Seconds(static_cast<double>(blocks_per_column_ * blocks.hop) / sample_rate_),
      .first_frequency = middle_line * spacing,
      .frequency_step = static_cast<double>(lines_per_row_) * spacing,
      .columns = sums_.size() / rows_,
      .rows = rows_,
      .power = std::vector<float>(sums_.size())};
  for (std::size_t cell = 0; cell < sums_.size(); ++cell) {
    const bool in_last = cell / rows_ + 1 == result.columns;
    const std::size_t count = in_last ? blocks_in_last_ : blocks_per_column_;
    result.power[cell] = static_cast<float>(sums_[cell] / static_cast<double>(count));
  }
  return result;
}

Spectrogram spectrogram_overview(std::span<const float> samples, double sample_rate,
                                 OverviewParameters parameters) {
  SpectrogramOverview overview(sample_rate, parameters);
  overview.push(samples);
  return overview.result();
}

}  // namespace howl
