#include "src/audio/recording.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>
#include <vector>

#include "src/audio/promised_length.h"
#include "src/files/descriptor.h"

namespace howl {

namespace {

constexpr int lowest_rate = 4000;
constexpr int highest_rate = 384'000;
/// libsndfile gives a huge count of frames to an OGG file without its last page.
constexpr sf_count_t unknown_length = sf_count_t{1} << 50;
constexpr std::size_t buffer_samples = 65'536;
/// Less than this missing at the end of a file is a writer's carelessness, not a cut.
constexpr double tolerated_loss_seconds = 0.01;

constexpr std::string_view readable_formats = "export it as WAV, FLAC, AIFF or OGG and add that";

struct CloseSound {
  void operator()(SNDFILE* sound) const { sf_close(sound); }
};
using Sound = std::unique_ptr<SNDFILE, CloseSound>;

bool looks_like_text(const std::filesystem::path& file) {
  const Descriptor opened = open_for_reading(file);
  std::array<char, 512> start{};
  const ssize_t got = ::read(opened.get(), start.data(), start.size());
  if (got <= 0) return false;
  return std::all_of(start.begin(), start.begin() + got, [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte >= 0x20 || byte == '\n' || byte == '\r' || byte == '\t';
  });
}

Error not_audio(const std::filesystem::path& file) {
  std::string reason = sf_strerror(nullptr);
  while (!reason.empty() && (reason.back() == '.' || reason.back() == '\n')) reason.pop_back();
  return {Fault::file, file.string(),
          looks_like_text(file)
              ? "holds text, not audio"
              : fmt::format("is not audio of a kind that can be read ({})", reason),
          std::string(readable_formats)};
}

/// Opened by its descriptor, so that libsndfile sees the content alone: with a name it takes any
/// file that ends in ".gsm" or ".vox" for audio.
Sound open_sound(const std::filesystem::path& file, SF_INFO& info) {
  Descriptor opened = open_for_reading(file);
  if (std::filesystem::file_size(file) == 0)
    throw Error(Fault::file, file.string(), "is empty", "record again, or copy it again");
  Sound sound(sf_open_fd(opened.release(), SFM_READ, &info, SF_TRUE));
  if (sound) return sound;
  if (const auto bytes = audio_bytes_of(file); bytes && bytes->present < bytes->promised)
    throw Error(Fault::file, file.string(),
                fmt::format("was cut off: {:.0f} % of its audio is there",
                            100.0 * static_cast<double>(bytes->present) /
                                static_cast<double>(bytes->promised)),
                "copy it again from the recorder");
  throw not_audio(file);
}

std::string container_name(SNDFILE* sound, int format) {
  SF_FORMAT_INFO info{};
  info.format = format & SF_FORMAT_TYPEMASK;
  if (sf_command(sound, SFC_GET_FORMAT_INFO, &info, sizeof info) != 0 || info.name == nullptr)
    return "audio";
  const std::string_view name(info.name);  // "WAV (Microsoft)"
  return std::string(name.substr(0, name.find(" (")));
}

std::string coding_name(SNDFILE* sound, int format) {
  switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_S8:
    case SF_FORMAT_PCM_U8:
      return "8-bit";
    case SF_FORMAT_PCM_16:
      return "16-bit";
    case SF_FORMAT_PCM_24:
      return "24-bit";
    case SF_FORMAT_PCM_32:
      return "32-bit";
    case SF_FORMAT_FLOAT:
      return "32-bit float";
    case SF_FORMAT_DOUBLE:
      return "64-bit float";
    default:
      break;
  }
  SF_FORMAT_INFO info{};
  info.format = format & SF_FORMAT_SUBMASK;
  const bool known = sf_command(sound, SFC_GET_FORMAT_INFO, &info, sizeof info) == 0;
  return known && info.name != nullptr ? info.name : "unknown coding";
}

void require_all_there(const std::filesystem::path& file, const RecordingFormat& format) {
  const auto bytes = audio_bytes_of(file);
  if (!bytes || bytes->present >= bytes->promised) return;
  if (format.frames == 0)
    throw Error(Fault::file, file.string(), "was cut off before its first sample",
                "copy it again from the recorder");
  const double promised =
      format.seconds() * static_cast<double>(bytes->promised) / static_cast<double>(bytes->present);
  if (promised - format.seconds() < tolerated_loss_seconds) return;
  throw Error(Fault::file, file.string(),
              fmt::format("was cut off: its header promises {:.2f} s, {:.2f} s are there", promised,
                          format.seconds()),
              "copy it again from the recorder");
}

void require_usable(const std::filesystem::path& file, const SF_INFO& info) {
  if (info.frames > unknown_length)
    throw Error(Fault::file, file.string(), "was cut off: its end is missing",
                "copy it again from the recorder");
  if (info.frames <= 0)
    throw Error(Fault::file, file.string(), "holds no samples", "record again, or copy it again");
  if (info.samplerate < lowest_rate || info.samplerate > highest_rate)
    throw Error(Fault::file, file.string(),
                fmt::format("has a sample rate of {} Hz; {} to {} Hz can be used", info.samplerate,
                            lowest_rate, highest_rate),
                "record at 44100 or 48000 Hz");
}

}  // namespace

struct Recording::State {
  std::filesystem::path file;
  RecordingFormat format;
  Sound sound;
  std::int64_t position{};    ///< frames read so far
  std::vector<float> frames;  ///< a piece of the file, channels interleaved

  double seconds_at(std::int64_t frame) const {
    return static_cast<double>(frame) / format.sample_rate;
  }
};

Recording::Recording(const std::filesystem::path& file) : state_(std::make_unique<State>()) {
  SF_INFO info{};
  state_->file = file;
  state_->sound = open_sound(file, info);
  state_->format = {.sample_rate = static_cast<double>(info.samplerate),
                    .frames = info.frames,
                    .channels = info.channels,
                    .description = container_name(state_->sound.get(), info.format) + ", " +
                                   coding_name(state_->sound.get(), info.format)};
  require_all_there(file, state_->format);
  require_usable(file, info);
}

Recording::~Recording() = default;
Recording::Recording(Recording&&) noexcept = default;
Recording& Recording::operator=(Recording&&) noexcept = default;

const RecordingFormat& Recording::format() const { return state_->format; }

std::size_t Recording::read_frames(std::span<float> out) {
  const auto channels = static_cast<std::size_t>(state_->format.channels);
  const auto room = static_cast<sf_count_t>(out.size() / channels);
  const sf_count_t wanted = std::min(room, state_->format.frames - state_->position);
  if (wanted <= 0) return 0;
  const sf_count_t got = sf_readf_float(state_->sound.get(), out.data(), wanted);
  if (got < wanted)
    throw Error(Fault::file, state_->file.string(),
                fmt::format("cannot be read beyond {:.2f} s, though its header promises {:.2f} s",
                            state_->seconds_at(state_->position + std::max<sf_count_t>(got, 0)),
                            state_->format.seconds()),
                "copy it again from the recorder");
  state_->position += got;
  return static_cast<std::size_t>(got);
}

std::size_t Recording::read(int channel, std::span<float> out) {
  const std::array channels{channel};
  const std::array outs{out};
  return read_channels(channels, outs);
}

std::size_t Recording::read_two(int first, int second, std::span<float> out_first,
                                std::span<float> out_second) {
  const std::array channels{first, second};
  const std::array outs{out_first, out_second.first(out_first.size())};
  return read_channels(channels, outs);
}

void Recording::require_channel(int channel) const {
  const int channels = state_->format.channels;
  if (channel >= 1 && channel <= channels) return;
  throw Error(
      Fault::command, fmt::format("channel {}", channel),
      fmt::format("{} has {} channel{}", state_->file.string(), channels, channels == 1 ? "" : "s"),
      "choose one of those; they count from 1");
}

float Recording::sample_of(int channel, std::size_t frame, std::int64_t start) const {
  const auto channels = static_cast<std::size_t>(state_->format.channels);
  const float sample = state_->frames[frame * channels + static_cast<std::size_t>(channel) - 1];
  if (std::isfinite(sample)) return sample;
  throw Error(Fault::file, state_->file.string(),
              fmt::format("channel {} has a sample that is not a number at {:.4f} s", channel,
                          state_->seconds_at(start + static_cast<std::int64_t>(frame))),
              "export it again, as 24-bit WAV");
}

/// `outs` are equally long, one for each of `wanted`.
std::size_t Recording::read_channels(std::span<const int> wanted,
                                     std::span<const std::span<float>> outs) {
  const auto channels = static_cast<std::size_t>(state_->format.channels);
  for (const int channel : wanted) require_channel(channel);
  state_->frames.resize(std::max<std::size_t>(buffer_samples / channels, 1) * channels);
  std::size_t filled = 0;
  while (filled < outs.front().size()) {
    const std::size_t room =
        std::min(outs.front().size() - filled, state_->frames.size() / channels);
    const std::int64_t start = state_->position;
    const std::size_t got = read_frames(std::span(state_->frames).first(room * channels));
    for (std::size_t c = 0; c < wanted.size(); ++c)
      for (std::size_t i = 0; i < got; ++i) outs[c][filled + i] = sample_of(wanted[c], i, start);
    filled += got;
    if (got == 0) break;
  }
  return filled;
}

void Recording::rewind() { seek(0); }

void Recording::seek(std::int64_t frame) {
  const std::int64_t wanted = std::clamp<std::int64_t>(frame, 0, state_->format.frames);
  if (sf_seek(state_->sound.get(), wanted, SEEK_SET) != wanted)
    throw Error(Fault::file, state_->file.string(),
                wanted == 0 ? "cannot be read from its start again" : "cannot be read in part",
                "export it as WAV and add that");
  state_->position = wanted;
}

void for_each_chunk(const std::filesystem::path& file, int channel, std::size_t chunk,
                    const std::function<void(std::span<const float>)>& take) {
  Recording recording(file);
  std::vector<float> samples(chunk);
  while (const std::size_t got = recording.read(channel, samples))
    take(std::span(samples).first(got));
}

void for_each_chunk_of_two(
    const std::filesystem::path& file, int first, int second, std::size_t chunk,
    const std::function<void(std::span<const float>, std::span<const float>)>& take) {
  Recording recording(file);
  std::vector<float> first_samples(chunk);
  std::vector<float> second_samples(chunk);
  while (const std::size_t got = recording.read_two(first, second, first_samples, second_samples))
    take(std::span(first_samples).first(got), std::span(second_samples).first(got));
}

}  // namespace howl
