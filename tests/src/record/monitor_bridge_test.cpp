#include "src/record/monitor_bridge.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstddef>
#include <vector>

using namespace howl;

namespace {

/// Counts the frames that come, and hands the first channel on to both ears.
class EarTaker final : public BlockTaker {
 public:
  void take(const SoundBlock& block) noexcept override {
    const std::size_t frames = block.output.size() / 2;
    for (std::size_t n = 0; n < frames; ++n)
      block.output[2 * n] = block.output[2 * n + 1] = block.input[n * 2];
    came += block.input.size() / 2;
    losses += block.input_lost ? 1 : 0;
  }
  std::size_t came{};
  int losses{};
};

/// Two channels: a count from 1 up in the first.
class CountingDevice {
 public:
  void hand_over(MonitorBridge& bridge, std::size_t frames, bool lost = false) {
    std::vector<float> block(2 * frames);
    for (std::size_t n = 0; n < frames; ++n) block[2 * n] = static_cast<float>(++last_);
    bridge.take({.input = block, .output = {}, .input_lost = lost});
  }

 private:
  int last_{};
};

std::vector<float> played(MonitorBridge& bridge, std::size_t frames) {
  std::vector<float> out(2 * frames, -1.0F);
  bridge.player().take({.input = {}, .output = out});
  return out;
}

bool silent(const std::vector<float>& block) {
  return std::ranges::all_of(block, [](float sample) { return sample == 0.0F; });
}

constexpr double bridge_rate = 10'000.0;  // usual delay: 300 frames

}  // namespace

TEST_CASE("monitor bridge: what is recorded is heard in order, a little later") {
  EarTaker taker;
  MonitorBridge bridge(bridge_rate, 2, taker);
  CountingDevice device;
  device.hand_over(bridge, 350);
  CHECK(silent(played(bridge, 100)));  // 350 wait, and 300 + 100 are enough to begin
  float expected = 0.0F;
  for (int block = 0; block < 30; ++block) {
    device.hand_over(bridge, 100);
    const auto heard = played(bridge, 100);
    CHECK(heard.front() == expected + 1.0F);
    CHECK(heard.back() == expected + 100.0F);
    expected += 100.0F;
  }
  CHECK(taker.came == 350 + 30 * 100);
}

TEST_CASE("monitor bridge: all is recorded, and once lost, when nobody plays") {
  EarTaker taker;
  MonitorBridge bridge(bridge_rate, 2, taker);
  CountingDevice device;
  device.hand_over(bridge, 1000, true);
  for (int second = 0; second < 60; ++second) device.hand_over(bridge, 10'000);
  CHECK(taker.came == 601'000);
  CHECK(taker.losses == 1);
}

TEST_CASE("monitor bridge: a player that fell behind catches up, and one too fast waits") {
  EarTaker taker;
  MonitorBridge bridge(bridge_rate, 2, taker);
  CountingDevice device;
  device.hand_over(bridge, 5000);
  // The newest 300 + 100 are left, and begin now.
  CHECK(played(bridge, 100).front() == 4601.0F);
  CHECK(played(bridge, 100).front() == 4701.0F);
  CHECK(played(bridge, 100).front() == 4801.0F);
  const auto last = played(bridge, 200);
  CHECK(last[198] == 5000.0F);
  CHECK(last[200] == 0.0F);
  device.hand_over(bridge, 350);
  CHECK(silent(played(bridge, 100)));
  device.hand_over(bridge, 50);
  CHECK(played(bridge, 100).front() == 5001.0F);
}
