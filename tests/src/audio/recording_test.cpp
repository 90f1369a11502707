#include "src/audio/recording.h"

#include <doctest/doctest.h>
#include <sndfile.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "src/errors.h"
#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"

using namespace howl;
using namespace howl::test;

namespace {

std::vector<float> channel_of(const std::filesystem::path& file, int channel, std::size_t chunk) {
  std::vector<float> samples;
  for_each_chunk(file, channel, chunk, [&](std::span<const float> piece) {
    samples.insert(samples.end(), piece.begin(), piece.end());
  });
  return samples;
}

/// The sine of channel k, as sines() makes it.
double largest_error(const std::vector<float>& samples, int rate, int channel) {
  double largest = 0.0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double truth =
        0.5 * std::sin(2.0 * std::numbers::pi * 50.0 * channel * static_cast<double>(i) / rate);
    largest = std::max(largest, std::abs(static_cast<double>(samples[i]) - truth));
  }
  return largest;
}

std::string message_of(const std::filesystem::path& file) {
  try {
    Recording recording(file);
    std::vector<float> samples(1000);
    while (recording.read(1, samples) > 0) {
    }
  } catch (const Error& error) {
    return error.what();
  }
  return "no error";
}

void cut(const std::filesystem::path& file, std::uintmax_t bytes) {
  std::filesystem::resize_file(file, std::filesystem::file_size(file) - bytes);
}

struct Container {
  int format;
  const char* description;
  double tolerance;
};

}  // namespace

TEST_CASE("every container gives back the samples, with a name for the user") {
  const ScratchFolder folder;
  const std::vector<Container> containers{
      {SF_FORMAT_WAV | SF_FORMAT_PCM_U8, "WAV, 8-bit", 1.0 / 127},
      {SF_FORMAT_WAV | SF_FORMAT_PCM_16, "WAV, 16-bit", 1.0 / 32767},
      {SF_FORMAT_WAV | SF_FORMAT_PCM_24, "WAV, 24-bit", 1e-6},
      {SF_FORMAT_WAV | SF_FORMAT_PCM_32, "WAV, 32-bit", 1e-7},
      {SF_FORMAT_WAV | SF_FORMAT_FLOAT, "WAV, 32-bit float", 1e-7},
      {SF_FORMAT_WAV | SF_FORMAT_DOUBLE, "WAV, 64-bit float", 1e-7},
      {SF_FORMAT_FLAC | SF_FORMAT_PCM_24, "FLAC, 24-bit", 1e-6},
      {SF_FORMAT_AIFF | SF_FORMAT_PCM_24, "AIFF, 24-bit", 1e-6},
      {SF_FORMAT_W64 | SF_FORMAT_PCM_24, "W64, 24-bit", 1e-6},
      {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, "RF64, 24-bit", 1e-6},
      {SF_FORMAT_CAF | SF_FORMAT_PCM_24, "CAF, 24-bit", 1e-6},
      {SF_FORMAT_AU | SF_FORMAT_PCM_24, "AU, 24-bit", 1e-6},
      {SF_FORMAT_OGG | SF_FORMAT_VORBIS, "OGG, Vorbis", 0.05},
  };
  for (const Container& container : containers) {
    CAPTURE(container.description);
    const auto file = write_sound(folder / "sound", sines(1.0, 48000, 2),
                                  {.format = container.format, .rate = 48000, .channels = 2});
    const Recording recording(file);
    CHECK(recording.format().description == container.description);
    CHECK(recording.format().frames == 48000);
    CHECK(recording.format().sample_rate == 48000.0);
    CHECK(recording.format().channels == 2);
    const auto samples = channel_of(file, 2, 4096);
    CHECK(samples.size() == 48000);
    CHECK(largest_error(samples, 48000, 2) <= container.tolerance);
  }
}

TEST_CASE("rates from 4 to 384 kHz and 1 to 16 channels are read; the chunk size does not matter") {
  const ScratchFolder folder;
  for (const int rate : {4000, 44100, 384000})
    for (const int channels : {1, 3, 16}) {
      CAPTURE(rate);
      CAPTURE(channels);
      const auto file = write_sound(folder / "sound.wav", sines(0.6, rate, channels),
                                    {.rate = rate, .channels = channels});
      const auto samples = channel_of(file, channels, 65'536);
      CHECK(largest_error(samples, rate, channels) < 1e-6);
      CHECK(channel_of(file, channels, 777) == samples);
    }
}

TEST_CASE("rates outside 4 to 384 kHz are refused") {
  const ScratchFolder folder;
  for (const int rate : {3999, 384001}) {
    const auto file = write_sound(folder / "sound.wav", sines(0.6, rate, 1), {.rate = rate});
    CHECK(message_of(file).find("sample rate of " + std::to_string(rate)) != std::string::npos);
  }
}

TEST_CASE("two channels come side by side, each as it comes alone") {
  const ScratchFolder folder;
  const auto file =
      write_sound(folder / "a.wav", sines(0.7, 8000, 3), {.rate = 8000, .channels = 3});
  const auto alone = [&](int channel) {
    std::vector<float> all;
    for_each_chunk(file, channel, 4096, [&](std::span<const float> samples) {
      all.insert(all.end(), samples.begin(), samples.end());
    });
    return all;
  };
  for (const std::size_t chunk : {std::size_t{1}, std::size_t{333}, std::size_t{100'000}}) {
    std::vector<float> third;
    std::vector<float> first;
    for_each_chunk_of_two(file, 3, 1, chunk,
                          [&](std::span<const float> a, std::span<const float> b) {
                            REQUIRE(a.size() == b.size());
                            third.insert(third.end(), a.begin(), a.end());
                            first.insert(first.end(), b.begin(), b.end());
                          });
    CHECK(third == alone(3));
    CHECK(first == alone(1));
  }
  const auto ignore = [](std::span<const float>, std::span<const float>) {};
  CHECK_THROWS_AS(for_each_chunk_of_two(file, 1, 4, 4096, ignore), Error);
}

TEST_CASE("rewind begins again") {
  const ScratchFolder folder;
  const auto file = write_sound(folder / "sound.flac", sines(0.6, 48000, 1),
                                {.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_24});
  Recording recording(file);
  std::vector<float> first(1000);
  std::vector<float> again(1000);
  CHECK(recording.read(1, first) == 1000);
  recording.rewind();
  CHECK(recording.read(1, again) == 1000);
  CHECK(first == again);
}

TEST_CASE("a file is known by its content, not by its name") {
  const ScratchFolder folder;
  const auto wav = write_sound(folder / "sound.wav", sines(0.6, 48000, 1));
  std::filesystem::rename(wav, folder / "sound.mp3");
  CHECK(Recording(folder / "sound.mp3").format().description == "WAV, 24-bit");

  for (const char* name : {"notes.wav", "notes.gsm", "notes.vox", "notes.raw"}) {
    const auto text = write_text(folder / name, "Noise at idle, louder with the wheel turned.\n");
    CHECK(message_of(text).find("holds text, not audio; export it as WAV") != std::string::npos);
  }
}

TEST_CASE("faults of the file are told apart") {
  const ScratchFolder folder;
  CHECK(message_of(folder / "none.wav").find("No such file") != std::string::npos);
  CHECK(message_of(folder.path()).find("is a folder") != std::string::npos);
  CHECK(message_of("/dev/null").find("a pipe or a device") != std::string::npos);
  CHECK(message_of(write_text(folder / "empty.wav", "")).find("is empty") != std::string::npos);
  CHECK(
      message_of(write_text(folder / "zeros.wav", std::string(2000, '\0'))).find("is not audio") !=
      std::string::npos);
  const auto silent = write_sound(folder / "silent.wav", {});
  CHECK(message_of(silent).find("holds no samples") != std::string::npos);
}

TEST_CASE("a recording that was cut off says how much is there") {
  const ScratchFolder folder;
  for (const int container : {SF_FORMAT_WAV, SF_FORMAT_RF64, SF_FORMAT_W64, SF_FORMAT_AIFF,
                              SF_FORMAT_CAF, SF_FORMAT_AU}) {
    CAPTURE(container);
    const auto file = write_sound(folder / "cut", sines(10.0, 8000, 1),
                                  {.format = container | SF_FORMAT_PCM_16, .rate = 8000});
    CHECK(message_of(file) == "no error");
    cut(file, 6 * 8000 * 2);
    const std::string message = message_of(file);
    // libsndfile does not open a CAF file that was cut off, so that its length in time is not
    // known.
    const char* share = container == SF_FORMAT_CAF ? "40 % of its audio" : "promises 10.00 s, 4.0";
    CHECK(message.find(share) != std::string::npos);
    CHECK(message.find("copy it again from the recorder") != std::string::npos);
  }
}

TEST_CASE("a cut compressed file is refused too") {
  const ScratchFolder folder;
  for (const int format : {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, SF_FORMAT_OGG | SF_FORMAT_OPUS}) {
    CAPTURE(format);
    const auto file =
        write_sound(folder / "cut", sines(10.0, 48000, 1), {.format = format, .rate = 48000});
    CHECK(message_of(file) == "no error");
    cut(file, std::filesystem::file_size(file) / 2);
    const std::string message = message_of(file);
    CHECK(message.find("copy it again from the recorder") != std::string::npos);
    CHECK(message.find("000000 s") == std::string::npos);  // no length that nobody promised
  }
}

TEST_CASE("a WAV whose length was left open, as programs write into a pipe, is read") {
  const ScratchFolder folder;
  const auto file = write_sound(folder / "piped.wav", sines(2.0, 8000, 1),
                                {.format = SF_FORMAT_WAV | SF_FORMAT_PCM_16, .rate = 8000});
  std::string bytes = content_of(file);
  bytes.replace(bytes.find("data") + 4, 4, "\xFF\xFF\xFF\xFF");
  write_text(file, bytes);
  CHECK(channel_of(file, 1, 4096).size() == 16000);
}

TEST_CASE("samples that are not numbers are refused with their time") {
  const ScratchFolder folder;
  for (const double bad :
       {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()}) {
    auto samples = sines(1.0, 8000, 2);
    samples[2 * 6000 + 1] = bad;  // frame 6000 of channel 2: 0.75 s
    const auto file =
        write_sound(folder / "bad.wav", samples,
                    {.format = SF_FORMAT_WAV | SF_FORMAT_FLOAT, .rate = 8000, .channels = 2});
    CHECK(channel_of(file, 1, 100).size() == 8000);
    try {
      channel_of(file, 2, 100);
      FAIL("read");
    } catch (const Error& error) {
      CHECK(error.problem() == "channel 2 has a sample that is not a number at 0.7500 s");
    }
  }
}

TEST_CASE("a channel that is not there is the command's fault") {
  const ScratchFolder folder;
  const auto file = write_sound(folder / "mono.wav", sines(0.6, 8000, 1), {.rate = 8000});
  for (const int channel : {0, 2, -1}) {
    try {
      channel_of(file, channel, 100);
      FAIL("read");
    } catch (const Error& error) {
      CHECK(error.fault() == Fault::command);
      CHECK(error.problem().find("has 1 channel") != std::string::npos);
    }
  }
}
