#include "src/record/monitor_bridge.h"

#include <algorithm>
#include <cmath>

namespace howl {

namespace {

/// Devices hand over blocks of any size; a ring so long holds several of the largest.
constexpr double ring_seconds = 1.0;

std::size_t frames_in(double seconds, double sample_rate) {
  return static_cast<std::size_t>(std::lround(seconds * sample_rate));
}

}  // namespace

MonitorBridge::MonitorBridge(double sample_rate, int channels, BlockTaker& taker)
    : channels_(static_cast<std::size_t>(channels)), taker_(&taker), player_(sample_rate) {}

void MonitorBridge::take(const SoundBlock& block) noexcept {
  const std::size_t frames = block.input.size() / channels_;
  bool lost = block.input_lost;
  for (std::size_t at = 0; at < frames; at += piece_frames) {
    const std::size_t count = std::min(piece_frames, frames - at);
    const auto heard = std::span(heard_).first(count * played_channels);
    taker_->take({.input = block.input.subspan(at * channels_, count * channels_),
                  .output = heard,
                  .input_lost = lost});
    lost = false;
    player_.waiting_.push(heard);
  }
  if (frames == 0) taker_->take({.input = {}, .output = {}, .input_lost = lost});
}

MonitorBridge::Player::Player(double sample_rate)
    : usual_(played_channels * frames_in(usual_delay, sample_rate)),
      waiting_(played_channels * frames_in(ring_seconds, sample_rate)) {}

void MonitorBridge::Player::take(const SoundBlock& block) noexcept {
  const std::size_t waiting = waiting_.size();
  const std::size_t enough = usual_ + block.output.size();
  if (!begun_ && waiting < enough) {
    std::ranges::fill(block.output, 0.0F);
    return;
  }
  begun_ = true;
  // Twice as much waits as need be: the other clock is faster, or this device stood still.
  if (waiting > 2 * enough) leave_out(waiting - enough);
  const std::size_t played = waiting_.pop(block.output);
  std::ranges::fill(block.output.subspan(played), 0.0F);
  begun_ = played == block.output.size();
}

void MonitorBridge::Player::leave_out(std::size_t items) noexcept {
  std::array<float, played_channels * piece_frames> gone{};
  while (items > 0) items -= waiting_.pop(std::span(gone).first(std::min(items, gone.size())));
}

}  // namespace howl
