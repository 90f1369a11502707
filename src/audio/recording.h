#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <span>
#include <string>

#include "src/files/sha256.h"

namespace howl {

struct RecordingFormat {
  double sample_rate{};  ///< Hz, 4000 … 384000
  std::int64_t frames{};
  int channels{};
  std::string description;  ///< "WAV, 24-bit"

  double seconds() const { return static_cast<double>(frames) / sample_rate; }
};

/// An audio file of any format that libsndfile reads, recognised by its content whatever its name,
/// streamed in constant memory. Whole-number samples are scaled to ±1; floating-point samples come
/// as they are.
class Recording {
 public:
  /// Throws Error: unreadable, not audio, empty, rate out of range, or shorter than its header
  /// promises (where the format's header says so: WAV, RF64, W64, AIFF, AU, CAF).
  explicit Recording(const std::filesystem::path& file);
  ~Recording();
  Recording(Recording&&) noexcept;
  Recording& operator=(Recording&&) noexcept;

  const RecordingFormat& format() const;
  /// Reads the next samples of one channel (from 1) into `out`; returns how many, 0 at the end.
  /// Throws Error on a channel that is not there, on a read error, on a sample that is not finite,
  /// and when the file ends before the length that its header promises.
  std::size_t read(int channel, std::span<float> out);
  /// The same of two channels at once; `out_second` is at least as long as `out_first`.
  std::size_t read_two(int first, int second, std::span<float> out_first,
                       std::span<float> out_second);
  /// Reads the next whole frames, channels interleaved, as many as fit into `out`; returns how many
  /// frames, 0 at the end. Throws as read() does, but does not look at the samples.
  std::size_t read_frames(std::span<float> out);
  void rewind();
  /// Goes on reading at `frame`, 0 … frames(); what lies before is not read. Throws Error where the
  /// format does not allow it.
  void seek(std::int64_t frame);

 private:
  void require_channel(int channel) const;
  float sample_of(int channel, std::size_t frame, std::int64_t start) const;
  std::size_t read_channels(std::span<const int> wanted, std::span<const std::span<float>> outs);

  struct State;
  std::unique_ptr<State> state_;
};

/// Calls `take` with chunks of one channel until the end, without holding the whole file.
void for_each_chunk(const std::filesystem::path& file, int channel, std::size_t chunk,
                    const std::function<void(std::span<const float>)>& take);

/// The same of two channels side by side; both spans of a call are equally long.
void for_each_chunk_of_two(
    const std::filesystem::path& file, int first, int second, std::size_t chunk,
    const std::function<void(std::span<const float>, std::span<const float>)>& take);

}  // namespace howl
