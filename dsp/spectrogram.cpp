#include "dsp/spectrogram.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "dsp/require.h"

namespace howl {
namespace {

SpectrogramParameters checked(SpectrogramParameters parameters) {
  require(parameters.length >= 2 && parameters.length % 2 == 0,
          "spectrogram: the block length must be even");
  require(parameters.hop >= 1 && parameters.hop <= parameters.length,
          "spectrogram: the hop must be at least 1 and at most the block length");
  return parameters;
}

std::size_t samples_of(std::size_t blocks, const SpectrogramParameters& parameters) {
  return parameters.length + (blocks - 1) * parameters.hop;
}

std::size_t whole_blocks(std::size_t samples, const SpectrogramParameters& parameters) {
  if (samples < parameters.length) return 0;
  return (samples - parameters.length) / parameters.hop + 1;
}

/// Time at the middle of `blocks` blocks that start with block `first`.
double centre(std::size_t first, std::size_t blocks, double sample_rate,
              const SpectrogramParameters& parameters) {
  const double block = static_cast<double>(first) + 0.5 * static_cast<double>(blocks - 1);
  return (block * static_cast<double>(parameters.hop) +
          0.5 * static_cast<double>(parameters.length)) /
         sample_rate;
}

/// Throws where there is no sample rate.
Hertz line_spacing(double sample_rate, const SpectrogramParameters& parameters) {
  require(sample_rate > 0.0, "spectrogram: no sample rate");
  return Hertz(sample_rate / static_cast<double>(parameters.length));
}

/// Which lines a cell of an overview takes.
struct Rows {
  std::size_t first_line;
  std::size_t lines;
  std::size_t lines_per_row;
  std::size_t count;
};

Rows rows_of_band(const std::optional<Interval>& band, Hertz spacing, std::size_t lines,
                  std::size_t max_rows) {
  double low = 0.0;
  auto high = static_cast<double>(lines - 1);
  if (band) {
    low = std::max(low, std::ceil(band->low / spacing.value));
    high = std::min(high, std::floor(band->high / spacing.value));
  }
  require(low <= high, "spectrogram: no line lies in the band");
  const auto first = static_cast<std::size_t>(low);
  const std::size_t chosen = static_cast<std::size_t>(high) - first + 1;
  const std::size_t per_row = (chosen + max_rows - 1) / max_rows;
  return {first, chosen, per_row, (chosen + per_row - 1) / per_row};
}

}  // namespace

SpectrogramStream::SpectrogramStream(SpectrogramParameters parameters)
    : parameters_(checked(parameters)),
      fft_(parameters.length),
      window_(tone_scaled(make_window(parameters.window, parameters.length))),
      columns_(kFftBatch * fft_.bins()) {
  pending_.reserve(samples_of(kFftBatch, parameters_));
}

void SpectrogramStream::push(std::span<const float> samples, const Sink& sink) {
  const std::size_t full = samples_of(kFftBatch, parameters_);
  while (!samples.empty()) {
    const auto taken = samples.first(std::min(samples.size(), full - pending_.size()));
    pending_.insert(pending_.end(), taken.begin(), taken.end());
    samples = samples.subspan(taken.size());
    if (pending_.size() == full) emit(kFftBatch, sink);
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
  std::vector<float> power;
  power.reserve(whole_blocks(samples.size(), parameters) * stream.lines());
  const auto append = [&](std::size_t, std::span<const float> columns) {
    power.insert(power.end(), columns.begin(), columns.end());
  };
  stream.push(samples, append);
  stream.flush(append);
  const std::size_t columns = power.size() / stream.lines();
  return {.first_time = Seconds(centre(0, 1, sample_rate, parameters)),
          .time_step = Seconds(static_cast<double>(parameters.hop) / sample_rate),
          .first_frequency = Hertz(0.0),
          .frequency_step = line_spacing(sample_rate, parameters),
          .columns = columns,
          .rows = stream.lines(),
          .power = std::move(power)};
}

struct SpectrogramOverview::State {
  State(double rate, const OverviewParameters& parameters)
      : sample_rate(rate),
        blocks(parameters.spectrogram),
        max_columns(parameters.max_columns),
        stream(blocks),
        rows(rows_of_band(parameters.band_hz, line_spacing(rate, blocks), stream.lines(),
                          parameters.max_rows)),
        sink([this](std::size_t, std::span<const float> columns) { add_columns(columns); }) {}

  std::size_t columns() const { return sums.size() / rows.count; }

  void add_columns(std::span<const float> columns) {
    for (; !columns.empty(); columns = columns.subspan(stream.lines())) {
      add(columns.subspan(rows.first_line, rows.lines));
    }
  }

  void add(std::span<const float> lines) {
    make_room();
    const std::span<double> cells = std::span(sums).last(rows.count);
    for (double& cell : cells) {
      const auto of_row = lines.first(std::min(rows.lines_per_row, lines.size()));
      cell += static_cast<double>(*std::max_element(of_row.begin(), of_row.end()));
      lines = lines.subspan(of_row.size());
    }
    ++blocks_in_last;
  }

  /// So that the last column can take another block.
  void make_room() {
    if (blocks_in_last < blocks_per_column) return;
    if (columns() == max_columns) merge_pairs();
    if (blocks_in_last < blocks_per_column) return;
    sums.resize(sums.size() + rows.count);
    blocks_in_last = 0;
  }

  void merge_pairs() {
    if (columns() % 2 == 0) blocks_in_last += blocks_per_column;
    blocks_per_column *= 2;
    std::vector<double> merged((columns() + 1) / 2 * rows.count);
    for (std::size_t cell = 0; cell < sums.size(); ++cell) {
      merged[cell / rows.count / 2 * rows.count + cell % rows.count] += sums[cell];
    }
    sums = std::move(merged);
  }

  std::vector<float> means() const {
    std::vector<float> power(sums.size());
    for (std::size_t cell = 0; cell < sums.size(); ++cell) {
      const bool last = cell / rows.count + 1 == columns();
      const std::size_t count = last ? blocks_in_last : blocks_per_column;
      power[cell] = static_cast<float>(sums[cell] / static_cast<double>(count));
    }
    return power;
  }

  double sample_rate;
  SpectrogramParameters blocks;
  std::size_t max_columns;
  SpectrogramStream stream;
  Rows rows;
  SpectrogramStream::Sink sink;
  std::size_t blocks_per_column{1};
  std::size_t blocks_in_last{1};  // of no column yet, which is as good as full
  std::vector<double> sums;       // of blocks, column-major
};

SpectrogramOverview::SpectrogramOverview(double sample_rate, OverviewParameters parameters) {
  require(parameters.max_columns >= 1 && parameters.max_rows >= 1,
          "spectrogram: an overview needs at least one column and one row");
  state_ = std::make_unique<State>(sample_rate, parameters);
}

SpectrogramOverview::~SpectrogramOverview() = default;
SpectrogramOverview::SpectrogramOverview(SpectrogramOverview&&) noexcept = default;
SpectrogramOverview& SpectrogramOverview::operator=(SpectrogramOverview&&) noexcept = default;

void SpectrogramOverview::push(std::span<const float> samples) {
  state_->stream.push(samples, state_->sink);
}

Spectrogram SpectrogramOverview::result() const {
  state_->stream.flush(state_->sink);
  const State& state = *state_;
  const Hertz spacing = line_spacing(state.sample_rate, state.blocks);
  const double middle_of_row = 0.5 * static_cast<double>(state.rows.lines_per_row - 1);
  const auto step = static_cast<double>(state.blocks_per_column * state.blocks.hop);
  return {
      .first_time = Seconds(centre(0, state.blocks_per_column, state.sample_rate, state.blocks)),
      .time_step = Seconds(step / state.sample_rate),
      .first_frequency = (static_cast<double>(state.rows.first_line) + middle_of_row) * spacing,
      .frequency_step = static_cast<double>(state.rows.lines_per_row) * spacing,
      .columns = state.columns(),
      .rows = state.rows.count,
      .power = state.means()};
}

Spectrogram spectrogram_overview(std::span<const float> samples, double sample_rate,
                                 OverviewParameters parameters) {
  SpectrogramOverview overview(sample_rate, parameters);
  overview.push(samples);
  return overview.result();
}

}  // namespace howl
