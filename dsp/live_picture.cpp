#include "dsp/live_picture.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <utility>

#include "dsp/peaks.h"
#include "dsp/weighting.h"
#include "dsp/window.h"

namespace howl {

namespace {

constexpr double kPictureBlockSeconds = 0.085;
constexpr std::size_t kBlocksOverlapping = 8;
constexpr double kLowestTone = 40.0;
/// An exponential average with time constant τ varies as a mean over 2τ does.
constexpr double kEquivalentTime = 2.0;

std::size_t picture_block_length(double sample_rate) {
  const auto wanted = static_cast<std::size_t>(kPictureBlockSeconds * sample_rate);
  const std::size_t above = std::bit_ceil(std::max<std::size_t>(wanted, 16));
  const std::size_t below = above / 2;
  return above - wanted < wanted - below ? above : below;
}

SpectrogramParameters blocks_of(std::size_t length) {
  return {.window = WindowKind::hann, .length = length, .hop = length / kBlocksOverlapping};
}

}  // namespace

LivePicture::LivePicture(LivePictureParameters parameters)
    : parameters_(std::move(parameters)),
      length_(picture_block_length(parameters_.sample_rate)),
      hop_(length_ / kBlocksOverlapping),
      spacing_(parameters_.sample_rate / static_cast<double>(length_)),
      stream_(blocks_of(length_)),
      most_kept_(std::max<std::size_t>(
          1, static_cast<std::size_t>(parameters_.remembered / column_spacing()))),
      window_(make_window(WindowKind::hann, length_)) {}

Seconds LivePicture::column_spacing() const {
  return Seconds(static_cast<double>(hop_) / parameters_.sample_rate);
}

void LivePicture::push(std::span<const float> samples) {
  const auto take = [this](std::size_t /*first*/, std::span<const float> columns) {
    for (std::size_t at = 0; at < columns.size(); at += lines())
      take_column(columns.subspan(at, lines()));
  };
  stream_.push(samples, take);
  stream_.flush(take);
}

void LivePicture::take_column(std::span<const float> column) {
  const bool finite = std::ranges::all_of(column, [](float power) { return std::isfinite(power); });
  columns_.emplace_back(column.begin(), column.end());
  if (columns_.size() > most_kept_) {
    columns_.pop_front();
    ++first_kept_;
  }
  if (!finite) return;
  if (running_.empty()) running_.resize(lines());
  const double share = std::max(1.0 / static_cast<double>(columns_so_far()),
                                column_spacing() / time_constant(TimeWeighting::slow));
  for (std::size_t k = 0; k < running_.size(); ++k)
    running_[k] += share * (double{column[k]} - running_[k]);
}

std::span<const float> LivePicture::column(std::uint64_t index) const {
  return columns_.at(index - first_kept_);
}

PowerSpectrum LivePicture::spectrum() const {
  PowerSpectrum spectrum{.spacing = spacing_,
                         .window = WindowKind::hann,
                         .noise_bandwidth_bins = noise_bandwidth_bins(window_),
                         .effective_averages = 0.0,
                         .power = running_};
  const double most = kEquivalentTime * (time_constant(TimeWeighting::slow) / column_spacing());
  const double blocks = std::min(most, static_cast<double>(columns_so_far()));
  if (blocks >= 1.0)
    spectrum.effective_averages =
        effective_averages(window_, hop_, static_cast<std::size_t>(blocks));
  return spectrum;
}

Seconds LivePicture::now() const {
  const double half_block = 0.5 * static_cast<double>(length_) / parameters_.sample_rate;
  return column_spacing() * static_cast<double>(columns_so_far() - 1) + Seconds(half_block);
}

std::optional<LiveTone> LivePicture::tone() const {
  if (running_.empty()) return std::nullopt;
  const std::vector<Peak> peaks =
      find_peaks(spectrum(), {.lowest = kLowestTone, .floor_width = std::nullopt});
  const auto strongest = std::ranges::max_element(peaks, {}, &Peak::power);
  if (strongest == peaks.end()) return std::nullopt;
  const Hertz frequency(strongest->position);
  LiveTone tone{.frequency = frequency,
                .order = std::nullopt,
                .level = full_scale_level(strongest->power),
                .above_floor = strongest->above_floor};
  if (parameters_.speed) tone.order = order_of(frequency, parameters_.speed->at(now()));
  return tone;
}

}  // namespace howl
