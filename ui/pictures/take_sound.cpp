#include "ui/pictures/take_sound.h"

#include <algorithm>
#include <cmath>
#include <span>
#include <utility>

#include "dsp/order_map.h"
#include "dsp/spectrogram.h"
#include "src/analysis/sighting.h"
#include "src/audio/recording.h"
#include "src/errors.h"
#include "src/report/picture_of.h"

namespace howl::desk {
namespace {

constexpr std::size_t kMostColumns = 4096;
constexpr std::size_t kMostOrderColumns = 2048;
constexpr double kHighestOrder = 48.0;
constexpr std::size_t kChunk = 65536;

/// An order map's columns lie evenly in turns of the crankshaft; these lie evenly in time, each the
/// nearest of those.
class OrdersOverTime {
 public:
  void take(const OrderColumn& column) {
    spacing_known_ = column.power.size();
    times_.push_back(column.time.value);
    for (const float power : column.power) powers_.push_back(power);
    if (times_.size() > 2 * kMostOrderColumns) thin_out();
  }

  std::optional<LevelPyramid> finish(double spacing, double seconds, const TimeSpans& unknown) {
    if (times_.size() < 2) return std::nullopt;
    const std::size_t rows =
        std::min(spacing_known_, static_cast<std::size_t>(kHighestOrder / spacing) + 1);
    const std::size_t columns = std::min(kMostOrderColumns, 2 * times_.size());
    const std::vector<float> nothing(rows);
    PyramidBuilder builder(rows, columns, kMostOrderColumns);
    for (std::size_t c = 0; c < columns; ++c) {
      const double time = seconds * (static_cast<double>(c) + 0.5) / static_cast<double>(columns);
      builder.push(contains(unknown, time) ? std::span<const float>(nothing)
                                           : std::span<const float>(powers_).subspan(
                                                 nearest(time) * spacing_known_, rows));
    }
    LevelPyramid pyramid = builder.finish(rows);
    pyramid.time_step = seconds / static_cast<double>(columns);
    pyramid.first_time = 0.5 * pyramid.time_step;
    pyramid.row_step = spacing;
    return pyramid;
  }

 private:
  std::size_t nearest(double time) const {
    const auto after = std::ranges::lower_bound(times_, time);
    auto index = static_cast<std::size_t>(after - times_.begin());
    if (index == times_.size()) return index - 1;
    if (index > 0 && time - times_[index - 1] < times_[index] - time) --index;
    return index;
  }

  /// Pairs of columns become their mean, so that an hour takes no more room than minutes.
  void thin_out() {
    const std::size_t half = times_.size() / 2;
    for (std::size_t i = 0; i < half; ++i) {
      times_[i] = 0.5 * (times_[2 * i] + times_[2 * i + 1]);
      for (std::size_t r = 0; r < spacing_known_; ++r)
        powers_[i * spacing_known_ + r] = 0.5F * (powers_[2 * i * spacing_known_ + r] +
                                                  powers_[(2 * i + 1) * spacing_known_ + r]);
    }
    times_.resize(half);
    powers_.resize(half * spacing_known_);
  }

  std::size_t spacing_known_{};
  std::vector<double> times_;
  std::vector<float> powers_;
};

std::size_t column_count(double samples, std::size_t block, std::size_t hop) {
  const double room = samples - static_cast<double>(block);
  return room < 0 ? 0 : static_cast<std::size_t>(room / static_cast<double>(hop)) + 1;
}

WelchParameters welch_parameters(const TakeAudio& take) {
  const double seconds = std::min(0.5, take.seconds / 4.0);
  const std::size_t length =
      std::max<std::size_t>(64, power_of_two_from(seconds * take.sample_rate));
  return {WindowKind::hann, length, length / 2};
}

/// What is fed while the take streams by.
class SoundReader {
 public:
  SoundReader(const TakeAudio& take, TakeSound& sound)
      : sound_(sound),
        stream_({WindowKind::hann, sound.block, sound.hop}),
        map_(stream_.lines(), column_count(take.seconds * take.sample_rate, sound.block, sound.hop),
             kMostColumns),
        welch_(take.sample_rate, welch_parameters(take)) {}

  void push(std::span<const float> samples) {
    sound_.wave.push(samples);
    stream_.push(samples, sink());
    welch_.push(samples);
  }

  void finish() {
    stream_.flush(sink());
    sound_.wave.finish();
    sound_.spectrogram = map_.finish(noise_rows());
    sound_.spectrogram.time_step = static_cast<double>(sound_.hop) / sound_.sample_rate;
    sound_.spectrogram.first_time = 0.5 * static_cast<double>(sound_.block) / sound_.sample_rate;
    sound_.spectrogram.row_step = sound_.sample_rate / static_cast<double>(sound_.block);
    sound_.spectrum = welch_.result();
  }

 private:
  /// Up to 4 kHz, where howls lie.
  std::size_t noise_rows() const {
    return static_cast<std::size_t>(4000.0 * static_cast<double>(sound_.block) /
                                    sound_.sample_rate);
  }
  SpectrogramStream::Sink sink() {
    return [this](std::size_t, std::span<const float> columns) {
      for (std::size_t at = 0; at < columns.size(); at += stream_.lines())
        map_.push(columns.subspan(at, stream_.lines()));
    };
  }

  TakeSound& sound_;
  SpectrogramStream stream_;
  PyramidBuilder map_;
  WelchSpectrum welch_;
};

}  // namespace

TakeSound read_take_sound(const std::filesystem::path& folder, const Take& take,
                          std::optional<int> cylinders, const Progress& progress) {
  std::vector<std::string> warnings;
  const TakeAudio audio = open_take(folder, take, cylinders, warnings);
  TakeSound sound;
  sound.id = take.id;
  sound.point = take.point;
  sound.seconds = audio.seconds;
  sound.sample_rate = audio.sample_rate;
  sound.engine_off = audio.engine_off;
  sound.speed = audio.speed;
  sound.without_speed = without_speed(audio);
  sound.block = spectrogram_block(audio);
  sound.hop = sound.block / 8;
  sound.recording = folder / take.recording;
  sound.channel = take.channel;
  sound.wave = Waveform(std::llround(audio.seconds * audio.sample_rate));
  SoundReader reader(audio, sound);
  audio.stream([&](std::span<const float> samples) {
    progress(0.0, "reading the sound");
    reader.push(samples);
  });
  reader.finish();
  return sound;
}

std::optional<double> steady_rpm(const SpeedCurve& speed, double seconds) {
  constexpr double steady = 1.06;
  const auto range = speed.range(Seconds(0), Seconds(seconds));
  if (range.high.value >= steady * range.low.value) return std::nullopt;
  return 0.5 * (range.low + range.high).value;
}

TakeSpectrum read_take_spectrum(const std::filesystem::path& folder, const Take& take,
                                std::optional<int> cylinders, const Progress& progress) {
  std::vector<std::string> warnings;
  const TakeAudio audio = open_take(folder, take, cylinders, warnings);
  WelchSpectrum welch(audio.sample_rate, welch_parameters(audio));
  audio.stream([&](std::span<const float> samples) {
    progress(0.0, "reading the sound");
    welch.push(samples);
  });
  return {take.id, take.point,
          audio.engine_off ? std::nullopt : steady_rpm(audio.speed, audio.seconds), welch.result()};
}

TakeSound with_orders(TakeSound sound, const Progress& progress) {
  if (sound.engine_off) return sound;
  OrdersOverTime over_time;
  OrderMap map(sound.speed, sound.sample_rate, {.highest_order = kHighestOrder},
               [&](const OrderColumn& column) { over_time.take(column); });
  for_each_chunk(sound.recording, sound.channel, kChunk, [&](std::span<const float> samples) {
    progress(0.0, "following the orders");
    map.push(samples);
  });
  map.finish();
  sound.orders = over_time.finish(map.spacing(), sound.seconds, sound.without_speed);
  return sound;
}

LevelGrid fine_columns(const TakeSound& sound, std::size_t level, std::size_t first,
                       std::size_t count, const Progress& progress) {
  const std::size_t merge = std::size_t{1} << level;
  const std::size_t rows = sound.spectrogram.rows();
  const std::size_t begin = first * merge;
  const std::size_t end = std::min((first + count) * merge, sound.spectrogram.all_columns);
  if (begin >= end) return {0, rows, {}};
  Recording recording(sound.recording);
  recording.seek(static_cast<std::int64_t>(begin * sound.hop));
  SpectrogramStream stream({WindowKind::hann, sound.block, sound.hop});
  ColumnMerger merger(rows, merge);
  const auto take_columns = [&](std::size_t, std::span<const float> columns) {
    for (std::size_t at = 0; at < columns.size(); at += rows)
      merger.push(columns.subspan(at, rows));
  };
  std::vector<float> samples(kChunk);
  std::size_t left = (end - begin - 1) * sound.hop + sound.block;
  while (left > 0) {
    progress(0.0, "painting");  // may break off
    const std::size_t read =
        recording.read(sound.channel, std::span(samples).first(std::min(left, kChunk)));
    if (read == 0) break;
    stream.push(std::span(samples).first(read), take_columns);
    left -= read;
  }
  stream.flush(take_columns);
  return merger.finish();
}

}  // namespace howl::desk
