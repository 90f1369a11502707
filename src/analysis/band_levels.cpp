#include "src/analysis/band_levels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "dsp/order_map.h"
#include "dsp/spectrogram.h"
#include "dsp/window.h"
#include "src/analysis/line_power.h"
#include "src/analysis/probe_response.h"

namespace howl {

namespace {

struct Block {
  double time;
  double seconds;
  double in_band;
};

double power_in_band(std::span<const float> power, double spacing, const Interval& band) {
  return power_between(power, spacing, kHannNoiseBins, band.low, band.high);
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
      blocks.push_back(
          {centre / take.sample_rate, 1.0 / spacing, power_in_band(lines, spacing, band)});
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
    blocks.push_back({column.time.value, 60.0 * column.revolutions_per_block / column.speed.value,
                      power_in_band(column.power, 1.0 / column.revolutions_per_block, band)});
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

}  // namespace

Interval unsure_level_db(const TakeAudio& take, double highest_hz) {
  const Interval probe = probe_gain_db(highest_hz);
  const double cut_off = -20.0 * std::log10(std::max(0.01, 1.0 - take.clipped_share));
  return {-probe.high, cut_off - probe.low};
}

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
  for (const Block& block : blocks)
    if (!reaches_into(take.left_out, block.time - 0.5 * block.seconds,
                      block.time + 0.5 * block.seconds))
      result.block_power.push_back(block.in_band);
  if (result.block_power.empty())
    result.warnings.push_back("nothing is left of it to measure; record it again");
  result.unsure_db = unsure_level_db(take, highest_band_hz(take, band));
  return result;
}

}  // namespace howl
