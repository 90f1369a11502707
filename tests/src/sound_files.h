#pragma once

#include <sndfile.h>

#include <cmath>
#include <filesystem>
#include <numbers>
#include <stdexcept>
#include <vector>

namespace howl::test {

struct FileLayout {
  int format{SF_FORMAT_WAV | SF_FORMAT_PCM_24};
  int rate{48000};
  int channels{1};
};

/// Writes interleaved samples by libsndfile itself.
inline std::filesystem::path write_sound(const std::filesystem::path& file,
                                         const std::vector<double>& interleaved,
                                         FileLayout layout = {}) {
  SF_INFO info{};
  info.samplerate = layout.rate;
  info.channels = layout.channels;
  info.format = layout.format;
  SNDFILE* sound = sf_open(file.c_str(), SFM_WRITE, &info);
  if (sound == nullptr) throw std::runtime_error(sf_strerror(nullptr));
  const auto count = static_cast<sf_count_t>(interleaved.size());
  const sf_count_t written = sf_write_double(sound, interleaved.data(), count);
  sf_close(sound);
  if (written != count) throw std::runtime_error("sound file not written");
  return file;
}

/// Channel k (from 1) is a sine of 50·k Hz, peak 0.5.
inline std::vector<double> sines(double seconds, int rate, int channels) {
  const auto frames = static_cast<std::size_t>(seconds * rate);
  std::vector<double> samples;
  for (std::size_t i = 0; i < frames; ++i)
    for (int k = 1; k <= channels; ++k)
      samples.push_back(
          0.5 * std::sin(2.0 * std::numbers::pi * 50.0 * k * static_cast<double>(i) / rate));
  return samples;
}

}  // namespace howl::test
