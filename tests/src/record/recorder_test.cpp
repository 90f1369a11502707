#include "src/record/recorder.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <thread>

#include "src/audio/recording.h"
#include "tests/src/limited_disk.h"
#include "tests/src/record/fake_sound.h"
#include "tests/src/record/told_file.h"
#include "tests/src/scratch_folder.h"

using namespace howl;
using namespace howl::test;

namespace fs = std::filesystem;
using namespace std::chrono_literals;

namespace {

RecorderSettings settings_for(const fs::path& file, int channels = 2) {
  RecorderSettings settings{.file = file,
                            .layout = {.coding = SampleCoding::pcm24,
                                       .sample_rate = 48000,
                                       .channels = static_cast<std::uint16_t>(channels)}};
  settings.room_to_leave = 0;
  return settings;
}

/// Delivers told_sample() from one place on.
class Teller {
 public:
  explicit Teller(int channels) : channels_(channels) {}
  void deliver(Recorder& recorder, std::size_t frames, bool lost = false) {
    std::vector<float> block;
    for (std::size_t n = 0; n < frames; ++n)
      for (int c = 0; c < channels_; ++c) block.push_back(told_sample(at_ + n, c));
    recorder.take({.input = block, .output = {}, .input_lost = lost});
    at_ += frames;
  }

 private:
  int channels_;
  std::uint64_t at_{};
};

template <class Condition>
bool soon(Condition condition) {
  for (int i = 0; i < 500; ++i) {
    if (condition()) return true;
    std::this_thread::sleep_for(10ms);
  }
  return false;
}

}  // namespace

TEST_CASE("recorder: what was delivered is in the file, to the last frame") {
  ScratchFolder scratch;
  Recorder recorder(settings_for(scratch / "a.wav"));
  recorder.begin();
  Teller teller(2);
  for (int i = 0; i < 1000; ++i) teller.deliver(recorder, 137);
  const RecorderStatus status = recorder.finish();
  CHECK(status.frames == 137'000);
  CHECK(status.overruns.empty());
  CHECK_FALSE(status.failure.has_value());
  CHECK(frames_of(scratch / "a.wav") == 137'000);
  CHECK(first_untold_frame(scratch / "a.wav") == 137'000);
}

TEST_CASE("recorder: a take of fixed length has exactly that many frames") {
  ScratchFolder scratch;
  RecorderSettings settings = settings_for(scratch / "a.wav", 1);
  settings.length = Seconds(0.25);
  Recorder recorder(settings);
  recorder.begin();
  Teller teller(1);
  for (int i = 0; i < 100; ++i) teller.deliver(recorder, 480);
  CHECK(soon([&] { return recorder.status().phase == RecorderPhase::full; }));
  CHECK(recorder.finish().frames == 12'000);
  CHECK(frames_of(scratch / "a.wav") == 12'000);
}

TEST_CASE("recorder: nothing is kept before it begins") {
  ScratchFolder scratch;
  Recorder recorder(settings_for(scratch / "a.wav", 1));
  Teller teller(1);
  teller.deliver(recorder, 4800);
  CHECK(soon([&] { return recorder.status().meters[0].rms > 0.0; }));
  recorder.begin();
  teller.deliver(recorder, 4800);
  CHECK(recorder.finish().frames == 4800);
  CHECK(first_untold_frame(scratch / "a.wav", 4800) == 4800);
}

TEST_CASE("recorder: the header is valid every half second, as another reader sees it") {
  ScratchFolder scratch;
  const fs::path file = scratch / "a.wav";
  Recorder recorder(settings_for(file));
  recorder.begin();
  Teller teller(2);
  teller.deliver(recorder, 24'000);
  CHECK(soon([&] { return recorder.status().promised == 24'000; }));
  CHECK(frames_of(file) == 24'000);
  CHECK(first_untold_frame(file) == 24'000);
  recorder.finish();
}

TEST_CASE("recorder: frames lost for want of room are silence of their length, and marked") {
  ScratchFolder scratch;
  RecorderSettings settings = settings_for(scratch / "a.wav", 1);
  settings.buffer = Seconds(0.02);  // 960 frames; the ring rounds up to 1024
  std::atomic<bool> hold{true};
  settings.listener = [&](std::span<const float>) {
    while (hold) std::this_thread::sleep_for(1ms);
  };
  std::atomic<std::size_t> told{};
  settings.on_overrun = [&](const std::vector<Overrun>& all) { told = all.size(); };
  Recorder recorder(settings);
  recorder.begin();
  Teller teller(1);
  teller.deliver(recorder, 500);
  std::this_thread::sleep_for(60ms);  // the writer has these, and is held up in the listener
  teller.deliver(recorder, 1000);     // fits
  teller.deliver(recorder, 300);      // does not: 24 are left
  teller.deliver(recorder, 200);      // nor does this
  hold = false;
  CHECK(soon([&] { return recorder.status().frames == 1500; }));
  teller.deliver(recorder, 400);
  const RecorderStatus status = recorder.finish();
  REQUIRE(status.overruns.size() == 1);
  CHECK(status.overruns[0].at.value == doctest::Approx(1500.0 / 48000.0));
  CHECK(status.overruns[0].frames == 500);
  CHECK(told == 1);
  CHECK(status.frames == 2400);  // as if nothing were lost
  Recording recording(scratch / "a.wav");
  std::vector<float> read(2400);
  REQUIRE(recording.read(1, read) == 2400);
  for (std::size_t n = 0; n < 2400; ++n)
    REQUIRE(read[n] == (n >= 1500 && n < 2000 ? 0.0F : told_sample(n, 0)));
}

TEST_CASE("recorder: what the device lost is marked with its time") {
  ScratchFolder scratch;
  Recorder recorder(settings_for(scratch / "a.wav", 1));
  recorder.begin();
  Teller teller(1);
  teller.deliver(recorder, 480);
  teller.deliver(recorder, 480, true);
  const RecorderStatus status = recorder.finish();
  REQUIRE(status.overruns.size() == 1);
  CHECK(status.overruns[0].at.value == doctest::Approx(0.01));
  CHECK_FALSE(status.overruns[0].frames.has_value());
  CHECK(status.frames == 960);
}

TEST_CASE("recorder: it begins with the signal, and keeps the half second before") {
  ScratchFolder scratch;
  RecorderSettings settings = settings_for(scratch / "a.wav", 1);
  settings.start_level = Decibel(-20.0);
  Recorder recorder(settings);
  recorder.begin();
  // A sine of amplitude a has the level 20 lg a re full-scale sine: −40 dB, then −6 dB.
  std::vector<float> sound;
  for (int n = 0; n < 48'000 + 24'000; ++n)
    sound.push_back(static_cast<float>((n < 48'000 ? 0.01 : 0.5) *
                                       std::sin(2.0 * std::numbers::pi * 500.0 * n / 48000.0)));
  for (std::size_t at = 0; at < sound.size(); at += 480)
    recorder.take({.input = std::span(sound).subspan(at, 480), .output = {}, .input_lost = false});
  const RecorderStatus status = recorder.finish();
  // Noticed at the end of the first 20 ms (960 frames) that are loud enough; 24 000 from before.
  CHECK(status.frames == 24'000 + 24'000 - 959);
  Recording recording(scratch / "a.wav");
  std::vector<float> read(24'000);
  REQUIRE(recording.read(1, read) == 24'000);
  const std::size_t start = 48'000 + 959 - 24'000;
  for (std::size_t n = 0; n < read.size(); n += 97)
    CHECK(std::abs(read[n] - sound[start + n]) < 1e-7F);
}

TEST_CASE("recorder: on a full disk it stops, says so, and what was written is whole") {
  ScratchFolder scratch;
  const LimitedFileSize limit(200'000);
  Recorder recorder(settings_for(scratch / "a.wav"));
  recorder.begin();
  Teller teller(2);
  for (int i = 0; i < 100; ++i) teller.deliver(recorder, 480);  // 288 000 bytes
  CHECK(soon([&] { return recorder.status().phase == RecorderPhase::failed; }));
  const RecorderStatus status = recorder.finish();
  REQUIRE(status.failure.has_value());
  CHECK(status.failure->fault() == Fault::machine);
  CHECK(status.frames == (200'000 - 92) / 6);
  CHECK(first_untold_frame(scratch / "a.wav") == (200'000 - 92) / 6);
}

TEST_CASE("recorder: it leaves room on the disk for the case") {
  ScratchFolder scratch;
  RecorderSettings settings = settings_for(scratch / "a.wav");
  settings.room_to_leave = std::uint64_t{1} << 62U;  // more than any disk has
  Recorder recorder(settings);
  recorder.begin();
  Teller teller(2);
  teller.deliver(recorder, 480);
  CHECK(soon([&] { return recorder.status().phase == RecorderPhase::failed; }));
  CHECK(recorder.finish().frames == 480);
  CHECK(first_untold_frame(scratch / "a.wav") == 480);
}

TEST_CASE("recorder: a folder that goes away is noticed, and the sound can be saved elsewhere") {
  ScratchFolder scratch;
  fs::create_directory(scratch / "case");
  Recorder recorder(settings_for(scratch / "case/a.wav"));
  recorder.begin();
  Teller teller(2);
  teller.deliver(recorder, 4800);
  fs::remove_all(scratch / "case");
  CHECK(soon([&] { return recorder.status().phase == RecorderPhase::failed; }));
  recorder.finish();
  CHECK_FALSE(recorder.file_is_in_place());
  recorder.save_copy(scratch / "saved.wav");
  CHECK(first_untold_frame(scratch / "saved.wav") == 4800);
}
