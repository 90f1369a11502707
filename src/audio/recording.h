#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <span>
#include <string>

namespace howl {

struct RecordingFormat {
  double sample_rate{};  ///< Hz, 4000 … 384000
  std::int64_t frames{};
  int channels{};
  std::string description;  ///< "WAV, 24-bit"
};

/// An audio file of any format that libsndfile reads, streamed.
class Recording {
 public:
  /// Throws Error: unreadable, not audio, empty, rate out of range.
  explicit Recording(const std::filesystem::path& file);
  ~Recording();
  Recording(Recording&&) noexcept;
  Recording& operator=(Recording&&) noexcept;

  const RecordingFormat& format() const;
  /// Reads the next samples of one channel (from 1) into `out`; returns how many, 0 at the end.
  /// Throws Error on a channel that is not there, on a read error, on a sample that is not finite,
  /// and when the file ends before the length that its header promises.
  std::size_t read(int channel, std::span<float> out);
  void rewind();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Calls `take` with chunks of one channel until the end, without holding the whole file.
void for_each_chunk(const std::filesystem::path& file, int channel, std::size_t chunk,
                    const std::function<void(std::span<const float>)>& take);

/// SHA-256 of a file's bytes, 64 lower-case hexadecimal digits.
std::string sha256_of_file(const std::filesystem::path& file);

}  // namespace howl
