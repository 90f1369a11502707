#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>

namespace howl {

enum class SoundFormat { wav16, wav24, wav_float, flac };

/// The ending that goes with a format, with its dot.
const char* ending_of(SoundFormat format);

/// Most samples, of all channels together, that a file of this format holds. WAV counts its bytes
/// in 32 bits.
std::int64_t most_samples(SoundFormat format);

/// A sound file that is written piece by piece. Samples beyond ±1 are clipped, except in wav_float.
/// The same samples give the same bytes. Throws Error (machine fault) where it cannot be written.
class SoundWriter {
 public:
  /// `sample_rate` is rounded to whole Hz.
  SoundWriter(const std::filesystem::path& file, SoundFormat format, double sample_rate,
              int channels);
  ~SoundWriter();
  SoundWriter(SoundWriter&&) noexcept;
  SoundWriter& operator=(SoundWriter&&) noexcept;

  /// Whole frames, channels interleaved.
  void write(std::span<const float> frames);
  /// Must be called for the file to be whole.
  void close();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Writes mono (`second` empty) or two equally long channels.
void write_sound(const std::filesystem::path& file, SoundFormat format, double sample_rate,
                 std::span<const float> first, std::span<const float> second = {});

}  // namespace howl
