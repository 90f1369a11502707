#include "src/audio/sound_writer.h"

#include <doctest/doctest.h>

#include <cstddef>
#include <vector>

#include "src/audio/recording.h"
#include "src/errors.h"
#include "tests/src/limited_disk.h"
#include "tests/src/scratch_folder.h"

using namespace howl;

TEST_CASE("a sound file written in pieces reads back as it was, beyond full scale too") {
  const test::ScratchFolder folder;
  const auto file = folder / "sound.wav";
  const std::vector<float> first{0.0F, 0.25F, -1.5F};
  const std::vector<float> second{2.0F, -0.125F};
  SoundWriter writer(file, SoundFormat::wav_float, 44100.0, 1);
  writer.write(first);
  writer.write(second);
  writer.close();

  Recording recording(file);
  CHECK(recording.format().sample_rate == 44100.0);
  std::vector<float> samples(10);
  REQUIRE(recording.read(1, samples) == 5);
  samples.resize(5);
  CHECK(samples == std::vector<float>{0.0F, 0.25F, -1.5F, 2.0F, -0.125F});
}

TEST_CASE("a full disk is told while a sound file is written, or at its end") {
  const test::ScratchFolder folder;
  const test::LimitedFileSize limited(4096);
  const std::vector<float> samples(5000, 0.5F);
  const auto write_all = [&] {
    SoundWriter writer(folder / "sound.wav", SoundFormat::wav_float, 8000.0, 1);
    writer.write(samples);
    writer.close();
  };
  CHECK_THROWS_AS(write_all(), Error);
}
