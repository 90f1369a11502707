#pragma once

#include <filesystem>
#include <span>
#include <vector>

namespace howl {

/// What one pass over a channel shows.
struct ChannelSurvey {
  int channel{};   ///< from 1
  float lowest{};  ///< full scale is ±1
  float highest{};

  bool constant() const { return lowest == highest; }
};

/// Reads the recording through once a channel, in constant memory; results in the order of
/// `channels`. Throws as Recording does, also on a sample that is not finite.
std::vector<ChannelSurvey> survey_channels(const std::filesystem::path& file,
                                           std::span<const int> channels);

}  // namespace howl
