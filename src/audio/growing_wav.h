#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <span>
#include <vector>

#include "src/files/descriptor.h"

namespace howl {

enum class SampleCoding { pcm24, float32 };

/// What the header of a growing WAV file says of its samples.
struct WavLayout {
  SampleCoding coding{};
  std::uint32_t sample_rate{};  ///< Hz
  std::uint16_t channels{};

  std::size_t frame_bytes() const { return channels * (coding == SampleCoding::pcm24 ? 3U : 4U); }
};

/// The header of such a file that holds `frames` frames; always equally long. From 4 GB on it is an
/// RF64 header (EBU Tech 3306 v1.1), for which a JUNK chunk keeps the room until then.
std::vector<std::byte> wav_header(const WavLayout& layout, std::uint64_t frames);

/// A WAV file that is written while its sound is made, and is whole at any moment up to its last
/// promise, whatever becomes of the program. Samples beyond ±1 are clipped in pcm24, kept in
/// float32. All throw Error (machine fault) where the file cannot be written.
class GrowingWav {
 public:
  /// Makes the file, which must not be there yet, with a header that promises nothing.
  GrowingWav(std::filesystem::path file, WavLayout layout);

  /// Appends whole frames, channels interleaved. Where it throws, the file ends in a whole frame
  /// all the same, and frames() counts what is there.
  void write(std::span<const float> frames);
  /// Brings all sound so far to the disk, and then a header that promises it.
  void promise();
  /// The last promise; nothing may be written afterwards. On a full disk the last frame may go.
  void finish();

  /// Whether the file is still found under its name; it is not once it or its folder was deleted
  /// or moved, or its disk taken away, although writing may go on without an error.
  bool is_in_place() const;
  /// Room on its disk; the largest number where that is not known.
  std::uint64_t free_bytes() const;
  /// Writes all sound so far to a file that must not be there yet, also when this one was deleted.
  /// Returns its frames.
  std::uint64_t copy_to(const std::filesystem::path& other) const;

  std::uint64_t frames() const { return frames_; }
  const WavLayout& layout() const { return layout_; }
  const std::filesystem::path& file() const { return file_; }

 private:
  void append(std::span<const std::byte> bytes);
  void cut_to_whole_frames(std::size_t written);

  std::filesystem::path file_;
  WavLayout layout_;
  Descriptor out_;
  std::uint64_t frames_{};
  std::vector<std::byte> encoded_;
};

/// What mend_wav() found.
struct MendedWav {
  WavLayout layout;
  std::uint64_t promised{};  ///< frames, by the header as it was
  std::uint64_t frames{};    ///< whole frames that are there, as the header now says
};

/// Makes the header of a GrowingWav that was never closed promise all whole frames that are in the
/// file, and takes away what follows them. Throws Error: not such a file (file fault), cannot be
/// written (machine fault).
MendedWav mend_wav(const std::filesystem::path& file);

}  // namespace howl
