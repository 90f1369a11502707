#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace howl {

/// Puts one channel (from 0) of interleaved whole frames into `out`, which loses what it held.
inline void take_channel(std::span<const float> frames, std::size_t channels, std::size_t channel,
                         std::vector<float>& out) {
  out.clear();
  for (std::size_t i = channel; i < frames.size(); i += channels) out.push_back(frames[i]);
}

}  // namespace howl
