#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

namespace howl {

/// How many bytes of audio a file's header promises, and how many there are.
struct AudioBytes {
  std::uint64_t promised{};
  std::uint64_t present{};
};

/// Looks for the chunk that holds the audio of a WAV (RIFF, RIFX), RF64, BW64, W64, AIFF, AIFC, CAF
/// or AU file. libsndfile silently shortens a file that was cut off; this tells. None: another
/// format, a header that leaves the length open, as programs write it into a pipe, or no such
/// chunk.
std::optional<AudioBytes> audio_bytes_of(const std::filesystem::path& file);

}  // namespace howl
