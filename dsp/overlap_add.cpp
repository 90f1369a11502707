#include "dsp/overlap_add.h"

#include <algorithm>
#include <utility>

#include "dsp/require.h"
#include "dsp/window.h"

namespace howl {
namespace {

/// Where fewer windows than this lie over a sample there is nothing to divide.
constexpr float kLeastWeight = 1e-3F;

FrameShape checked_shape(FrameShape shape) {
  require(shape.length >= 8 && shape.length % 2 == 0, "OverlapAdd: a frame has an even length");
  require(shape.hop_in > 0 && shape.hop_out > 0, "OverlapAdd: frames have to move along");
  require(4 * shape.hop_out <= shape.length, "OverlapAdd: frames have to overlap fourfold");
  return shape;
}

std::vector<float> hann(std::size_t length) {
  const std::vector<double> exact = make_window(WindowKind::hann, length);
  return {exact.begin(), exact.end()};
}

}  // namespace

OverlapAdd::OverlapAdd(FrameShape shape, Change change, Sink sink)
    : shape_(checked_shape(shape)),
      change_(std::move(change)),
      sink_(std::move(sink)),
      forward_(shape.length),
      inverse_(shape.length),
      window_(hann(shape.length)),
      input_(shape.length / 2, 0.0F),
      to_skip_(shape.length / 2) {}

void OverlapAdd::push(std::span<const float> samples) {
  came_ += samples.size();
  input_.insert(input_.end(), samples.begin(), samples.end());
  const std::size_t batch = shape_.length + (kFftBatch - 1) * shape_.hop_in;
  while (input_.size() >= batch) work(kFftBatch);
}

void OverlapAdd::work(std::size_t frames) {
  const std::size_t bins = forward_.bins();
  spectra_.resize(frames * bins);
  frames_.resize(frames * shape_.length);
  forward_.transform(input_, shape_.hop_in, frames, window_, spectra_);
  for (std::size_t m = 0; m < frames; ++m)
    change_(frame_++, std::span(spectra_).subspan(m * bins, bins));
  inverse_.transform(spectra_, frames, frames_);
  const std::size_t used = std::min(frames * shape_.hop_in, input_.size());
  input_.erase(input_.begin(), input_.begin() + static_cast<std::ptrdiff_t>(used));
  add(frames);
}

void OverlapAdd::add(std::size_t frames) {
  const std::size_t complete = frames * shape_.hop_out;
  sum_.resize(complete + shape_.length, 0.0F);
  weight_.resize(complete + shape_.length, 0.0F);
  for (std::size_t m = 0; m < frames; ++m) {
    const std::size_t at = m * shape_.hop_out;
    for (std::size_t i = 0; i < shape_.length; ++i) {
      sum_[at + i] += window_[i] * frames_[m * shape_.length + i];
      weight_[at + i] += window_[i] * window_[i];
    }
  }
  give(complete);
}

void OverlapAdd::give(std::size_t samples) {
  for (std::size_t i = 0; i < samples; ++i) sum_[i] /= std::max(weight_[i], kLeastWeight);
  const std::size_t skipped = std::min(to_skip_, samples);
  to_skip_ -= skipped;
  given_ += samples - skipped;
  sink_(std::span<const float>(sum_).subspan(skipped, samples - skipped));
  const auto gone = static_cast<std::ptrdiff_t>(samples);
  sum_.erase(sum_.begin(), sum_.begin() + gone);
  weight_.erase(weight_.begin(), weight_.begin() + gone);
}

void OverlapAdd::finish() {
  const std::uint64_t wanted = came_ * shape_.hop_out / shape_.hop_in;
  Sink sink = std::move(sink_);
  std::uint64_t left = wanted - given_;
  sink_ = [&](std::span<const float> made) {
    const auto part =
        made.first(static_cast<std::size_t>(std::min<std::uint64_t>(left, made.size())));
    left -= part.size();
    if (!part.empty()) sink(part);
  };
  while (left > 0) {
    input_.resize(std::max(input_.size(), shape_.length + (kFftBatch - 1) * shape_.hop_in), 0.0F);
    work(kFftBatch);
  }
  sink_ = std::move(sink);
}

}  // namespace howl
