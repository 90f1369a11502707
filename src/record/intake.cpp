#include "src/record/intake.h"

#include <algorithm>

namespace howl {

namespace {

constexpr std::size_t most_marks_waiting = 1024;

}  // namespace

Intake::Intake(int channels, std::size_t frames)
    : channels_(static_cast<std::size_t>(channels)),
      samples_(frames * channels_),
      marks_(most_marks_waiting) {}

void Intake::take(std::span<const float> frames, bool device_lost_some) noexcept {
  const std::uint64_t count = frames.size() / channels_;
  // Without room for marks too, the place of a loss could not be told: then nothing is taken.
  if (samples_.space() >= frames.size() && marks_.space() >= 2)
    return take_within_room(frames, count, device_lost_some);
  lost_since_ += count;
  lost_.fetch_add(count, std::memory_order_relaxed);
}

void Intake::take_within_room(std::span<const float> frames, std::uint64_t count,
                              bool device_lost_some) noexcept {
  const std::uint64_t position = arrived_.load(std::memory_order_relaxed);
  // Marks go first: whoever sees the sound after a loss sees the loss.
  if (lost_since_ > 0) {
    const Mark mark{.position = position, .frames = lost_since_, .counted = true};
    marks_.push({&mark, 1});
    lost_since_ = 0;
  }
  if (device_lost_some) {
    const Mark mark{.position = position, .frames = 0, .counted = false};
    marks_.push({&mark, 1});
  }
  samples_.push(frames);
  arrived_.store(position + count, std::memory_order_relaxed);
}

std::size_t Intake::read(std::span<float> out) noexcept {
  std::size_t frames = std::min(out.size(), samples_.size()) / channels_;
  if (marks_.size() > 0) frames = std::min<std::size_t>(frames, marks_.front().position - read_);
  samples_.pop(out.first(frames * channels_));
  read_ += frames;
  return frames;
}

std::optional<LostSound> Intake::next_loss() noexcept {
  if (marks_.size() == 0 || marks_.front().position != read_) return std::nullopt;
  Mark mark{};
  marks_.pop({&mark, 1});
  return LostSound{.position = mark.position,
                   .frames = mark.counted ? std::optional(mark.frames) : std::nullopt};
}

}  // namespace howl
