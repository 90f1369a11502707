#pragma once

#include <array>
#include <cstddef>
#include <span>

#include "src/record/sound_system.h"
#include "src/record/spsc_ring.h"

namespace howl {

/// Between a device that records and another that plays what is heard of it. Each runs in a thread
/// and by a clock of its own, so that trouble at the headphones never costs a recording. Where the
/// player falls behind, sound is left out; where it runs ahead, it is silent until some waits.
class MonitorBridge final : public BlockTaker {
 public:
  /// `taker` gets what is recorded in `channels` channels, each block with an output of two to
  /// fill, and must outlive the bridge. Allocates, once.
  MonitorBridge(double sample_rate, int channels, BlockTaker& taker);

  /// The recording device's thread.
  void take(const SoundBlock& block) noexcept override;
  /// For the playing device's thread.
  BlockTaker& player() noexcept { return player_; }
  /// How much waits between the two when all runs well, in s.
  static constexpr double usual_delay = 0.03;

 private:
  static constexpr std::size_t played_channels = 2;
  static constexpr std::size_t piece_frames = 256;

  class Player final : public BlockTaker {
   public:
    explicit Player(double sample_rate);
    void take(const SoundBlock& block) noexcept override;

   private:
    friend MonitorBridge;
    void leave_out(std::size_t items) noexcept;

    std::size_t usual_;  // items that wait when all runs well
    SpscRing<float> waiting_;
    bool begun_{};
  };

  std::size_t channels_;
  BlockTaker* taker_;
  Player player_;
  std::array<float, played_channels * piece_frames> heard_{};
};

}  // namespace howl
