#pragma once

#include <atomic>
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <mutex>
#include <span>
#include <thread>
#include <vector>

#include "src/record/sound_system.h"

namespace howl::test {

/// The k-th channel's n-th sample of a sound in which every frame is another: exact in 24 bits.
inline float told_sample(std::uint64_t n, int channel) {
  constexpr std::uint64_t turns = 4'000'037;  // a prime, so that blocks and pieces never line up
  const auto value = static_cast<double>((n * 7919 + static_cast<std::uint64_t>(channel)) % turns);
  return static_cast<float>((value - 2'000'000.0) / 8'388'608.0);
}

struct FakeScript {
  std::size_t block{480};
  /// Between blocks: how fast the device is.
  std::chrono::microseconds pause{500};
  /// The device goes after so many frames, or falls silent although it says that it lives.
  std::uint64_t dies_after{~std::uint64_t{0}};
  std::uint64_t stalls_after{~std::uint64_t{0}};
  /// Blocks before which the device says that it lost sound.
  std::function<bool(std::uint64_t frame)> loses = [](std::uint64_t) { return false; };
};

class FakeStream final : public SoundStream {
 public:
  FakeStream(const StreamRequest& request, BlockTaker& taker, FakeScript script)
      : thread_([this, request, &taker, script] { deliver(request, taker, script); }) {}
  ~FakeStream() override {
    stop_ = true;
    thread_.join();
  }
  bool alive() const override { return alive_; }

 private:
  void deliver(const StreamRequest& request, BlockTaker& taker, const FakeScript& script) {
    const auto channels = static_cast<std::size_t>(request.channels);
    std::vector<float> input(script.block * channels);
    std::vector<float> output(request.monitor ? 2 * script.block : 0);
    // As a real device does, it takes a moment: whoever opened it can say that it begins.
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    for (std::uint64_t at = 0; !stop_; at += script.block) {
      if (at >= script.dies_after) break;
      while (at >= script.stalls_after && !stop_) std::this_thread::sleep_for(script.pause);
      if (stop_) break;
      for (std::size_t i = 0; i < input.size(); ++i)
        input[i] = told_sample(at + i / channels, static_cast<int>(i % channels));
      taker.take({.input = input, .output = output, .input_lost = script.loses(at)});
      std::this_thread::sleep_for(script.pause);
    }
    alive_ = false;
  }

  std::atomic<bool> stop_{};
  std::atomic<bool> alive_{true};
  std::thread thread_;
};

/// What was played to a fake device, left channel.
class PlayedSound {
 public:
  void add(std::span<const float> frames) {
    const std::scoped_lock lock(mutex_);
    for (std::size_t i = 0; i < frames.size(); i += 2) samples_.push_back(frames[i]);
  }
  std::vector<float> samples() const {
    const std::scoped_lock lock(mutex_);
    return samples_;
  }

 private:
  mutable std::mutex mutex_;
  std::vector<float> samples_;
};

/// Asks for sound, and keeps what it gets.
class FakeOutput final : public SoundStream {
 public:
  FakeOutput(BlockTaker& taker, FakeScript script, std::shared_ptr<PlayedSound> played)
      : thread_([this, &taker, script, played] {
          std::vector<float> output(2 * script.block);
          for (std::uint64_t at = 0; !stop_ && at < script.dies_after; at += script.block) {
            taker.take({.input = {}, .output = output});
            if (played) played->add(output);
            std::this_thread::sleep_for(script.pause);
          }
          alive_ = false;
        }) {}
  ~FakeOutput() override {
    stop_ = true;
    thread_.join();
  }
  bool alive() const override { return alive_; }

 private:
  std::atomic<bool> stop_{};
  std::atomic<bool> alive_{true};
  std::thread thread_;
};

/// No sound device at all.
class DeafSystem final : public SoundSystem {
 public:
  std::vector<SoundDevice> devices() override { return {}; }
  std::unique_ptr<SoundStream> open(const StreamRequest&, BlockTaker&) override { return nullptr; }
  std::unique_ptr<SoundStream> open_output(const OutputRequest&, BlockTaker&) override {
    return nullptr;
  }
};

/// Sound devices that play told_sample() to whoever listens.
class FakeSystem : public SoundSystem {
 public:
  explicit FakeSystem(FakeScript script = {}, std::shared_ptr<PlayedSound> played = {})
      : script_(std::move(script)), played_(std::move(played)) {}
  std::vector<SoundDevice> devices() override { return {device()}; }
  std::unique_ptr<SoundStream> open(const StreamRequest& request, BlockTaker& taker) override {
    return std::make_unique<FakeStream>(request, taker, script_);
  }
  std::unique_ptr<SoundStream> open_output(const OutputRequest&, BlockTaker& taker) override {
    return std::make_unique<FakeOutput>(taker, script_, played_);
  }
  static SoundDevice device() {
    return {.number = 0,
            .name = "bench",
            .system = "none",
            .inputs = 4,
            .outputs = 2,
            .usual_rate = 48000.0,
            .usual_input = true,
            .usual_output = true};
  }

 private:
  FakeScript script_;
  std::shared_ptr<PlayedSound> played_;
};

}  // namespace howl::test
