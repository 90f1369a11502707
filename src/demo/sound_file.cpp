#include "src/demo/sound_file.h"

#include <sndfile.h>

#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "src/errors.h"

namespace howl {

namespace {

int libsndfile_format(SoundFormat format) {
  switch (format) {
    case SoundFormat::wav16:
      return SF_FORMAT_WAV | SF_FORMAT_PCM_16;
    case SoundFormat::wav24:
      return SF_FORMAT_WAV | SF_FORMAT_PCM_24;
    case SoundFormat::wav_float:
      return SF_FORMAT_WAV | SF_FORMAT_FLOAT;
    case SoundFormat::flac:
      break;
  }
  return SF_FORMAT_FLAC | SF_FORMAT_PCM_24;
}

std::vector<float> interleaved(std::span<const float> first, std::span<const float> second) {
  std::vector<float> frames;
  frames.reserve(2 * first.size());
  for (std::size_t n = 0; n < first.size(); ++n) {
    frames.push_back(first[n]);
    frames.push_back(second[n]);
  }
  return frames;
}

[[noreturn]] void fail(const std::filesystem::path& file, const std::string& why) {
  throw Error(Fault::machine, file.string(), "cannot be written: " + why,
              "check the folder and the space on the disk");
}

}  // namespace

const char* ending_of(SoundFormat format) { return format == SoundFormat::flac ? ".flac" : ".wav"; }

void write_sound(const std::filesystem::path& file, SoundFormat format, double sample_rate,
                 std::span<const float> first, std::span<const float> second) {
  SF_INFO info{};
  info.samplerate = static_cast<int>(std::lround(sample_rate));
  info.channels = second.empty() ? 1 : 2;
  info.format = libsndfile_format(format);
  const std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> out(sf_open(file.c_str(), SFM_WRITE, &info),
                                                        sf_close);
  if (!out) fail(file, sf_strerror(nullptr));
  sf_command(out.get(), SFC_SET_CLIPPING, nullptr, SF_TRUE);
  sf_command(out.get(), SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);  // it would hold the date

  const std::vector<float> both =
      second.empty() ? std::vector<float>{} : interleaved(first, second);
  const float* frames = second.empty() ? first.data() : both.data();
  const auto count = static_cast<sf_count_t>(first.size());
  if (sf_writef_float(out.get(), frames, count) != count) fail(file, sf_strerror(out.get()));
}

}  // namespace howl
