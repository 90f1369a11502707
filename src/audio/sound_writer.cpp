#include "src/audio/sound_writer.h"

#include <sndfile.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "src/errors.h"

namespace howl {

namespace {

constexpr std::int64_t most_wav_bytes = 4'294'960'000;  // some are left for the header

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

std::int64_t most_samples(SoundFormat format) {
  switch (format) {
    case SoundFormat::wav16:
      return most_wav_bytes / 2;
    case SoundFormat::wav24:
      return most_wav_bytes / 3;
    case SoundFormat::wav_float:
      return most_wav_bytes / 4;
    case SoundFormat::flac:
      break;
  }
  return std::numeric_limits<std::int64_t>::max();
}

struct SoundWriter::State {
  std::filesystem::path file;
  int channels;
  std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> out;
};

SoundWriter::SoundWriter(const std::filesystem::path& file, SoundFormat format, double sample_rate,
                         int channels) {
  SF_INFO info{};
  info.samplerate = static_cast<int>(std::lround(sample_rate));
  info.channels = channels;
  info.format = libsndfile_format(format);
  state_ = std::make_unique<State>(
      State{file, channels, {sf_open(file.c_str(), SFM_WRITE, &info), sf_close}});
  if (!state_->out) fail(file, sf_strerror(nullptr));
  sf_command(state_->out.get(), SFC_SET_CLIPPING, nullptr, SF_TRUE);
  // It would hold the date.
  sf_command(state_->out.get(), SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
}
SoundWriter::~SoundWriter() = default;
SoundWriter::SoundWriter(SoundWriter&&) noexcept = default;
SoundWriter& SoundWriter::operator=(SoundWriter&&) noexcept = default;

void SoundWriter::write(std::span<const float> frames) {
  const auto count = static_cast<sf_count_t>(frames.size()) / state_->channels;
  if (sf_writef_float(state_->out.get(), frames.data(), count) != count)
    fail(state_->file, sf_strerror(state_->out.get()));
}

void SoundWriter::close() {
  sf_write_sync(state_->out.get());
  if (const int error = sf_close(state_->out.release()); error != 0)
    fail(state_->file, sf_error_number(error));
}

void write_sound(const std::filesystem::path& file, SoundFormat format, double sample_rate,
                 std::span<const float> first, std::span<const float> second) {
  SoundWriter writer(file, format, sample_rate, second.empty() ? 1 : 2);
  writer.write(second.empty() ? first : interleaved(first, second));
  writer.close();
}

}  // namespace howl
