#include "src/audio/growing_wav.h"

#include <doctest/doctest.h>

#include <fstream>
#include <string>

#include "src/audio/promised_length.h"
#include "src/audio/recording.h"
#include "tests/src/limited_disk.h"
#include "tests/src/record/fake_sound.h"
#include "tests/src/record/told_file.h"
#include "tests/src/scratch_folder.h"

using namespace howl;
using namespace howl::test;

namespace fs = std::filesystem;

namespace {

constexpr WavLayout two_channels{
    .coding = SampleCoding::pcm24, .sample_rate = 48000, .channels = 2};

std::vector<float> frames_from(std::uint64_t first, std::size_t count, int channels) {
  std::vector<float> frames;
  for (std::uint64_t n = first; n < first + count; ++n)
    for (int c = 0; c < channels; ++c) frames.push_back(told_sample(n, c));
  return frames;
}

void append_bytes(const fs::path& file, std::size_t count) {
  std::ofstream(file, std::ios::binary | std::ios::app) << std::string(count, 'x');
}

}  // namespace

TEST_CASE("growing WAV: what another reader sees at any moment is what was promised last") {
  ScratchFolder scratch;
  for (const auto coding : {SampleCoding::pcm24, SampleCoding::float32}) {
    const fs::path file = scratch / (coding == SampleCoding::pcm24 ? "pcm.wav" : "float.wav");
    GrowingWav wav(file, {.coding = coding, .sample_rate = 44100, .channels = 1});
    wav.write(frames_from(0, 1001, 1));
    wav.promise();
    CHECK(frames_of(file) == 1001);
    CHECK(first_untold_frame(file) == frames_of(file));
    wav.write(frames_from(1001, 500, 1));
    CHECK(frames_of(file) == 1001);
    wav.finish();
    CHECK(frames_of(file) == 1501);
    CHECK(first_untold_frame(file) == frames_of(file));
    CHECK(Recording(file).format().sample_rate == 44100.0);
    CHECK(fs::file_size(file) % 2 == 0);  // RIFF chunks have an even number of bytes
  }
}

TEST_CASE("growing WAV: 24 bits round to the nearest and clip at full scale; float keeps all") {
  ScratchFolder scratch;
  const std::vector<float> odd{1.5F, -1.5F, 1.0F, 0.6F / 8'388'608.0F, -0.4F / 8'388'608.0F};
  GrowingWav whole(scratch / "24.wav", {SampleCoding::pcm24, 48000, 1});
  whole.write(odd);
  whole.finish();
  GrowingWav floating(scratch / "float.wav", {SampleCoding::float32, 48000, 1});
  floating.write(odd);
  floating.finish();
  std::vector<float> read(5);
  Recording(scratch / "24.wav").read(1, read);
  CHECK(read == std::vector<float>{8'388'607.0F / 8'388'608.0F, -1.0F, 8'388'607.0F / 8'388'608.0F,
                                   1.0F / 8'388'608.0F, 0.0F});
  Recording(scratch / "float.wav").read(1, read);
  CHECK(read == odd);
}

TEST_CASE("growing WAV: from 4 GB on the header is RF64") {
  // 1.5e9 frames of 3 bytes are 4.5e9 bytes, above 2^32 = 4 294 967 296.
  const WavLayout mono{.coding = SampleCoding::pcm24, .sample_rate = 48000, .channels = 1};
  ScratchFolder scratch;
  const fs::path file = scratch / "large.wav";
  {
    GrowingWav wav(file, mono);
    wav.write(frames_from(0, 100, 1));
  }
  fs::resize_file(file, 92 + 4'500'000'000ULL);  // a hole, which takes no room
  const MendedWav mended = mend_wav(file);
  CHECK(mended.frames == 1'500'000'000);
  std::string magic(4, ' ');
  std::ifstream(file, std::ios::binary).read(magic.data(), 4);
  CHECK(magic == "RF64");
  CHECK(frames_of(file) == 1'500'000'000);
  const auto bytes = audio_bytes_of(file);
  REQUIRE(bytes.has_value());
  CHECK(bytes->promised == 4'500'000'000ULL);
  CHECK(bytes->present == 4'500'000'000ULL);
  CHECK(wav_header(mono, 1'500'000'000).size() == wav_header(mono, 1).size());
  // Just below, and just at the limit: 8 + 84 bytes come before the audio, and 2^32 - 1 means "see
  // elsewhere".
  const std::uint64_t most = (0xFFFF'FFFFULL - 84) / 3;
  CHECK(wav_header(mono, most - 1)[1] == std::byte{'I'});
  CHECK(wav_header(mono, most)[1] == std::byte{'F'});
}

TEST_CASE("growing WAV: one that was cut short anywhere is mended to its last whole frame") {
  ScratchFolder scratch;
  const fs::path file = scratch / "cut.wav";
  {
    GrowingWav wav(file, two_channels);
    wav.write(frames_from(0, 1000, 2));
    wav.promise();
    wav.write(frames_from(1000, 234, 2));
  }                       // as a killed program leaves it
  append_bytes(file, 4);  // of the 6 of a frame
  const MendedWav mended = mend_wav(file);
  CHECK(mended.promised == 1000);
  CHECK(mended.frames == 1234);
  CHECK(mended.layout.channels == 2);
  CHECK(frames_of(file) == 1234);
  CHECK(first_untold_frame(file) == frames_of(file));
  // Once more changes nothing.
  const std::string before = content_of(file);
  CHECK(mend_wav(file).frames == 1234);
  CHECK(content_of(file) == before);
}

TEST_CASE("growing WAV: other files are not mended") {
  ScratchFolder scratch;
  const fs::path text = write_text(scratch / "text.wav", std::string(200, 'a'));
  const fs::path brief = write_text(scratch / "brief.wav", "RIFF");
  CHECK_THROWS_AS(mend_wav(text), Error);
  CHECK_THROWS_AS(mend_wav(brief), Error);
  CHECK_THROWS_AS(mend_wav(scratch / "none.wav"), Error);
  CHECK(content_of(text) == std::string(200, 'a'));
}

TEST_CASE("growing WAV: on a full disk the file stays whole") {
  ScratchFolder scratch;
  const fs::path file = scratch / "full.wav";
  {
    const LimitedFileSize limit(92 + 9001);  // 3000 frames of 3 bytes, and one byte
    GrowingWav wav(file, {.coding = SampleCoding::pcm24, .sample_rate = 48000, .channels = 1});
    wav.write(frames_from(0, 2000, 1));
    CHECK_THROWS_AS(wav.write(frames_from(2000, 2000, 1)), Error);
    CHECK(wav.frames() == 3000);
    wav.finish();
  }
  CHECK(frames_of(file) == 3000);
  CHECK(first_untold_frame(file) == frames_of(file));
}

TEST_CASE("growing WAV: where not even the last even byte fits, one frame goes") {
  ScratchFolder scratch;
  const fs::path file = scratch / "full.wav";
  {
    const LimitedFileSize limit(92 + 9003);  // 3001 frames of 3 bytes: an odd number
    GrowingWav wav(file, {.coding = SampleCoding::pcm24, .sample_rate = 48000, .channels = 1});
    wav.write(frames_from(0, 3001, 1));
    wav.finish();
    CHECK(wav.frames() == 3000);
  }
  CHECK(frames_of(file) == 3000);
  CHECK(first_untold_frame(file) == frames_of(file));
}

TEST_CASE("growing WAV: a file that was deleted is noticed, and its sound can be saved") {
  ScratchFolder scratch;
  fs::create_directory(scratch / "case");
  GrowingWav wav(scratch / "case/a.wav", two_channels);
  wav.write(frames_from(0, 5000, 2));
  CHECK(wav.is_in_place());
  fs::remove_all(scratch / "case");
  CHECK_FALSE(wav.is_in_place());
  wav.write(frames_from(5000, 5000, 2));
  wav.finish();
  CHECK(wav.copy_to(scratch / "saved.wav") == 10'000);
  CHECK(frames_of(scratch / "saved.wav") == 10'000);
  CHECK(first_untold_frame(scratch / "saved.wav") == frames_of(scratch / "saved.wav"));
  CHECK_THROWS_AS(wav.copy_to(scratch / "saved.wav"), Error);
}

TEST_CASE("growing WAV: a file that is there already is never overwritten") {
  ScratchFolder scratch;
  const fs::path file = write_text(scratch / "a.wav", "mine");
  CHECK_THROWS_AS(GrowingWav(file, two_channels), Error);
  CHECK(content_of(file) == "mine");
}
