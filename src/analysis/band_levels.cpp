#include "src/analysis/band_levels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "dsp/order_map.h"
#include "dsp/spectrogram.h"
#include "src/analysis/contact.h"
#include "src/analysis/line_power.h"

namespace howl {

namespace {

constexpr double kLinesInBand = 8.0;

struct Block {
  double time;
  double in_band;
  double total;
};

Block block_of(double time, std::span<const float> power, double spacing, const Interval& band) {
  constexpr double hann_bins = 1.5;
  const double top = spacing * static_cast<double>(power.size());
  return {time, power_between(power, spacing, hann_bins, band.low, band.high),
          power_between(power, spacing, hann_bins, 2.0 * spacing, top)};
}

std::vector<Block> hertz_blocks(const TakeAudio& take, const Interval& band) {
  const double seconds =
      std::clamp(kLinesInBand / band.width(), 0.05, std::clamp(take.seconds / 4.0, 0.05, 1.0));
  const std::size_t length =
      2 * std::max<std::size_t>(16, static_cast<std::size_t>(seconds * take.sample_rate / 2.0));
  std::size_t fast = 2;
  while (fast < length) fast *= 2;
  const std::size_t hop = fast / 2;
  const double spacing = take.sample_rate / static_cast<double>(fast);
  std::vector<Block> blocks;
  SpectrogramStream spectrogram({WindowKind::hann, fast, hop});
  const auto take_columns = [&](std::size_t first, std::span<const float> columns) {
    for (std::size_t c = 0; c * spectrogram.lines() < columns.size(); ++c) {
      const auto lines = columns.subspan(c * spectrogram.lines(), spectrogram.lines());
      const double centre = (static_cast<double>(first + c) + 1.0) * static_cast<double>(hop);
      blocks.push_back(block_of(centre / take.sample_rate, lines, spacing, band));
    }
  };
  take.stream([&](std::span<const float> chunk) { spectrogram.push(chunk, take_columns); });
  spectrogram.flush(take_columns);
  return blocks;
}

std::vector<Block> order_blocks(const TakeAudio& take, const Interval& band) {
  const double turns =
      take.speed.revolutions_at(Seconds(take.seconds)) - take.speed.revolutions_at(Seconds(0.0));
  OrderMapParameters parameters;
  parameters.highest_order = std::max(20.0, 1.3 * band.high);
  parameters.revolutions = std::clamp(std::ceil(kLinesInBand / band.width()), 2.0,
                                      std::max(2.0, std::floor(turns / 4.0)));
  parameters.hop_revolutions = parameters.revolutions / 2.0;
  std::vector<Block> blocks;
  OrderMap map(take.speed, take.sample_rate, parameters, [&](const OrderColumn& column) {
    blocks.push_back(
        block_of(column.time.value, column.power, 1.0 / column.revolutions_per_block, band));
  });
  take.stream([&](std::span<const float> chunk) { map.push(chunk); });
  map.finish();
  return blocks;
}

double highest_band_hz(const TakeAudio& take, const AnalysisRequest::Band& band) {
  return band.unit == AnalysisRequest::Band::Unit::hertz
             ? band.range.high
             : frequency_of(Order(band.range.high), speed_range(take).high).value;
}

void keep_contact(const std::vector<Block>& blocks, BandBlocks& result) {
  std::vector<double> times;
  std::vector<double> totals;
  for (const Block& block : blocks) {
    times.push_back(block.time);
    totals.push_back(block.total);
  }
  const std::vector<bool> held = in_contact(times, totals);
  std::optional<double> first_lost;
  std::size_t lost = 0;
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    if (held[i]) {
      result.block_power.push_back(blocks[i].in_band);
      continue;
    }
    ++lost;
    if (!first_lost) first_lost = blocks[i].time;
  }
  if (lost > 0)
    result.warnings.push_back(
        fmt::format("contact lost for about {:.1f} s from {:.1f} s on; left out. Hold the probe "
                    "still and record again",
                    static_cast<double>(lost) * result.block_seconds, *first_lost));
}

}  // namespace

BandBlocks band_blocks(const TakeAudio& take, const AnalysisRequest::Band& band) {
  BandBlocks result;
  if (highest_band_hz(take, band) > 0.5 * take.sample_rate) {
    result.warnings.push_back(
        fmt::format("the suspect band reaches above {:.0f} Hz, half this recording's sample rate; "
                    "record at a higher rate",
                    0.5 * take.sample_rate));
    return result;
  }
  const std::vector<Block> blocks = band.unit == AnalysisRequest::Band::Unit::hertz
                                        ? hertz_blocks(take, band.range)
                                        : order_blocks(take, band.range);
  if (blocks.empty()) {
    result.warnings.push_back("too short to measure the suspect band; record at least 5 s");
    return result;
  }
  result.block_seconds = blocks.size() > 1 ? (blocks.back().time - blocks.front().time) /
                                                 static_cast<double>(blocks.size() - 1)
                                           : take.seconds;
  keep_contact(blocks, result);
  return result;
}

}  // namespace howl
