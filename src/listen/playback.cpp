#include "src/listen/playback.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace howl {
namespace {

float amplitude_of(Decibel level) { return static_cast<float>(std::pow(10.0, level.value / 20.0)); }

}  // namespace

Playback::Playback(double rate)
    : rate_(rate),
      fade_length_(static_cast<std::size_t>(std::max(1.0, kCrossfadeSeconds * rate))),
      smoothing_(static_cast<float>(-std::expm1(-1.0 / (kCrossfadeSeconds * rate)))),
      limiter_(rate, amplitude_of(kLoudestPlayed)) {}

// ---- the other thread --------------------------------------------------------------------------

bool Playback::give(const Order& order) noexcept {
  if (given_ - done_.load(std::memory_order_acquire) >= asked_.size()) return false;
  if (!orders_.push({&order, 1})) return false;
  asked_[given_ % asked_.size()] = order.sound;
  ++given_;
  return true;
}

bool Playback::play(const PreparedSound* sound, double from_seconds) noexcept {
  return give({Order::Kind::play, sound, from_seconds});
}
bool Playback::change_to(const PreparedSound* sound) noexcept {
  return give({Order::Kind::change, sound, 0});
}
bool Playback::seek(double seconds) noexcept { return give({Order::Kind::seek, nullptr, seconds}); }
bool Playback::stop() noexcept { return give({Order::Kind::stop, nullptr, 0}); }

void Playback::volume(Decibel gain) noexcept {
  volume_.store(amplitude_of(gain), std::memory_order_relaxed);
}

bool Playback::uses(const PreparedSound* sound) const noexcept {
  // Orders first: what was carried out by then has reached the heads.
  const std::uint64_t done = done_.load(std::memory_order_acquire);
  for (std::uint64_t order = done; order < given_; ++order)
    if (asked_[order % asked_.size()] == sound) return true;
  return std::ranges::any_of(
      heads_, [&](const auto& head) { return head.load(std::memory_order_acquire) == sound; });
}

bool Playback::playing() const noexcept {
  if (done_.load(std::memory_order_acquire) < given_)
    return asked_[(given_ - 1) % asked_.size()] != nullptr || heads_[0].load() != nullptr;
  return heads_[0].load(std::memory_order_acquire) != nullptr;
}

// ---- the device's thread -----------------------------------------------------------------------

void Playback::go_over_to(const PreparedSound* sound, std::size_t at) noexcept {
  before_ = now_;
  now_ = {sound, at, sound == nullptr ? 0.0F : sound->gain.load(std::memory_order_relaxed)};
  fading_ = fade_length_;
}

void Playback::carry_out(const Order& order) noexcept {
  switch (order.kind) {
    case Order::Kind::play:
      return go_over_to(order.sound, order.sound->sample_at(order.seconds));
    case Order::Kind::change: {
      if (now_.sound == nullptr) return;  // it ended meanwhile
      return go_over_to(order.sound, order.sound->sample_at(now_.sound->seconds_at(now_.next)));
    }
    case Order::Kind::seek:
      if (now_.sound != nullptr) go_over_to(now_.sound, now_.sound->sample_at(order.seconds));
      return;
    case Order::Kind::stop:
      if (now_.sound != nullptr) go_over_to(nullptr, 0);
      return;
  }
}

/// One at a time: a crossfade that is under way ends first.
void Playback::take_order() noexcept {
  Order order{};
  if (fading_ > 0 || orders_.pop({&order, 1}) == 0) return;
  carry_out(order);
  ++carried_out_;
}

void Playback::turn_at_end() noexcept {
  if (now_.sound == nullptr || fading_ > 0) return;
  const std::size_t length = now_.sound->length();
  const std::size_t fade = std::min(fade_length_, length / 2);
  if (now_.next + fade < length) return;
  const bool again = loops_.load(std::memory_order_relaxed) && length > 2 * fade_length_;
  go_over_to(again ? now_.sound : nullptr, 0);
}

float Playback::sample_of(Head& head) noexcept {
  if (head.sound == nullptr) return 0.0F;
  head.gain += smoothing_ * (head.sound->gain.load(std::memory_order_relaxed) - head.gain);
  if (head.next >= head.sound->ready()) {
    if (&head == &now_ && !head.sound->is_complete()) waits_.store(true, std::memory_order_relaxed);
    return 0.0F;
  }
  return head.gain * head.sound->at(head.next++);
}

float Playback::next_sample() noexcept {
  take_order();
  turn_at_end();
  float sample = sample_of(now_);
  if (fading_ > 0) {
    // Both weights add up to 1 all along.
    const float share = static_cast<float>(fading_) / static_cast<float>(fade_length_);
    const float old = 0.5F - 0.5F * std::cos(std::numbers::pi_v<float> * share);
    sample = (1.0F - old) * sample + old * sample_of(before_);
    if (--fading_ == 0) before_ = {};
  }
  volume_now_ += smoothing_ * (volume_.load(std::memory_order_relaxed) - volume_now_);
  return volume_now_ * sample;
}

void Playback::publish() noexcept {
  heads_[0].store(now_.sound, std::memory_order_release);
  heads_[1].store(before_.sound, std::memory_order_release);
  if (now_.sound != nullptr) {
    at_.store(now_.sound->seconds_at(now_.next), std::memory_order_relaxed);
    pace_.store(now_.sound->pace(), std::memory_order_relaxed);
  }
  held_down_.store(limiter_.gain() < 0.98F, std::memory_order_relaxed);
  done_.store(carried_out_, std::memory_order_release);
  blocks_.fetch_add(1, std::memory_order_relaxed);
}

void Playback::take(const SoundBlock& block) noexcept {
  waits_.store(false, std::memory_order_relaxed);
  for (std::size_t i = 0; i + 1 < block.output.size(); i += 2) {
    float sample = next_sample();
    limiter_.process({&sample, 1});
    block.output[i] = sample;
    block.output[i + 1] = sample;
  }
  publish();
}

}  // namespace howl
