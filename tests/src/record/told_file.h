#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "src/audio/recording.h"
#include "tests/src/record/fake_sound.h"

namespace howl::test {

inline std::int64_t frames_of(const std::filesystem::path& file) {
  return Recording(file).format().frames;
}

/// The first frame that is not told_sample() from `first` on, in any channel; the number of frames
/// where all are.
inline std::int64_t first_untold_frame(const std::filesystem::path& file, std::uint64_t first = 0) {
  Recording recording(file);
  const auto channels = static_cast<std::size_t>(recording.format().channels);
  std::vector<float> read(channels * 1000);
  std::int64_t at = 0;
  while (const std::size_t frames = recording.read_frames(read))
    for (std::size_t n = 0; n < frames; ++n, ++at)
      for (std::size_t c = 0; c < channels; ++c)
        if (read[n * channels + c] !=
            told_sample(first + static_cast<std::uint64_t>(at), static_cast<int>(c)))
          return at;
  return at;
}

}  // namespace howl::test
