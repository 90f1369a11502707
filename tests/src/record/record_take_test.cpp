#include "src/record/record_take.h"

#include <doctest/doctest.h>

#include "src/files/sha256.h"
#include "src/keeping/check_case.h"
#include "src/keeping/unfinished_take.h"
#include "tests/src/limited_disk.h"
#include "tests/src/record/fake_sound.h"
#include "tests/src/record/told_file.h"
#include "tests/src/record/workshop_case.h"

using namespace howl;
using namespace howl::test;

namespace fs = std::filesystem;

namespace {

/// Ends the recording once it has so many frames.
RecordingWatch until(std::uint64_t frames) {
  auto enough = std::make_shared<bool>(false);
  RecordingWatch watch;
  watch.show = [=](const RecordingView& view) { *enough = view.status.frames >= frames; };
  watch.stop = [=] { return *enough; };
  return watch;
}

std::vector<std::string> files_in(const fs::path& folder) {
  std::vector<std::string> names;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    if (entry.is_regular_file() && entry.path().filename() != ".howlpoint.lock")
      names.push_back(entry.path().lexically_relative(folder).string());
  std::ranges::sort(names);
  return names;
}

}  // namespace

TEST_CASE("recording: a take of the asked length is in the case, as 'add' would store it") {
  const WorkshopCase workshop;
  FakeSystem system;
  RecordOrder order = workshop.order(2);
  order.length = Seconds(1.5);
  order.take.reference_channel = 2;
  order.take.load = {{"ac", "on"}};
  order.take.note = "warm";
  RecordedSound sound = record_sound(system, order, {});
  CHECK(sound.end == RecordingEnd::length_reached);
  CHECK_FALSE(sound.fault.has_value());
  const Take take = sound.take.keep().take;
  CHECK(take.id == "t01");
  CHECK(take.frames == 72'000);
  CHECK(take.channels == 2);
  const fs::path file = workshop.folder / take.recording;
  CHECK(take.sha256 == sha256_of_file(file));
  CHECK(first_untold_frame(file) == 72'000);
  CHECK(files_in(workshop.folder) ==
        std::vector<std::string>{"case.json", "recordings/t01-bell_housing.wav"});
  CHECK(check_case(workshop.folder).empty());
  const Take stored = load_case(workshop.folder).takes.at(0);
  CHECK(stored.reference_channel == 2);
  CHECK(stored.load.at("ac") == "on");
  CHECK(stored.note == "warm");
}

TEST_CASE("recording: it can be told to stop, and keeps what there is") {
  const WorkshopCase workshop;
  FakeSystem system;
  RecordedSound sound = record_sound(system, workshop.order(), until(30'000));
  CHECK(sound.end == RecordingEnd::told_to_stop);
  const Take take = sound.take.keep().take;
  CHECK(take.frames >= 30'000);
  CHECK(first_untold_frame(workshop.folder / take.recording) == take.frames);
}

TEST_CASE("recording: when the device goes, the take so far is kept, and the next can follow") {
  const WorkshopCase workshop;
  for (const bool falls_silent : {false, true}) {
    FakeScript script;
    (falls_silent ? script.stalls_after : script.dies_after) = 48'000;
    FakeSystem system(script);
    RecordedSound sound = record_sound(system, workshop.order(), {});
    CHECK(sound.end == RecordingEnd::device_lost);
    REQUIRE(sound.fault.has_value());
    CHECK(sound.fault->fault() == Fault::machine);
    CHECK(sound.fault->problem() == "was lost after 1.0 s");
    CHECK(sound.take.keep().take.frames == 48'000);
  }
  CHECK(load_case(workshop.folder).takes.size() == 2);
  CHECK(check_case(workshop.folder).empty());
}

TEST_CASE("recording: losses are in the take, with their time") {
  const WorkshopCase workshop;
  FakeScript script;
  script.loses = [](std::uint64_t frame) { return frame == 24'000 || frame == 36'000; };
  FakeSystem system(script);
  RecordOrder order = workshop.order();
  order.length = Seconds(1.0);
  RecordedSound sound = record_sound(system, order, {});
  sound.take.keep();
  const Take take = load_case(workshop.folder).takes.at(0);
  REQUIRE(take.overruns.size() == 2);
  CHECK(take.overruns[0].at.value == doctest::Approx(0.5));
  CHECK(take.overruns[1].at.value == doctest::Approx(0.75));
  CHECK_FALSE(take.overruns[0].frames.has_value());
}

TEST_CASE("recording: on a full disk the take so far is kept") {
  const WorkshopCase workshop;
  FakeSystem system;
  std::optional<RecordedSound> sound;
  {
    const LimitedFileSize limit(300'000);
    sound.emplace(record_sound(system, workshop.order(), {}));
  }
  CHECK(sound->end == RecordingEnd::cannot_write);
  REQUIRE(sound->fault.has_value());
  CHECK(sound->fault->fault() == Fault::machine);
  const Take take = sound->take.keep().take;
  CHECK(take.frames == (300'000 - 92) / 3);
  CHECK(check_case(workshop.folder).empty());
}

TEST_CASE("recording: when the case folder goes away, the take so far is saved elsewhere") {
  const WorkshopCase workshop;
  FakeSystem system;
  const fs::path here = fs::current_path();
  fs::current_path(workshop.scratch.path());
  RecordingWatch watch;
  watch.show = [&](const RecordingView& view) {
    if (view.status.frames >= 24'000) fs::remove_all(workshop.folder);
  };
  const RecordedSound sound = record_sound(system, workshop.order(), watch);
  fs::current_path(here);
  CHECK(sound.end == RecordingEnd::cannot_write);
  REQUIRE(sound.saved_elsewhere.has_value());
  CHECK(sound.saved_elsewhere->parent_path() == workshop.scratch.path());
  CHECK(first_untold_frame(*sound.saved_elsewhere) >= 24'000);
  CHECK(first_untold_frame(*sound.saved_elsewhere) == frames_of(*sound.saved_elsewhere));
}

TEST_CASE("recording: a device that does not open leaves nothing behind") {
  class Broken final : public SoundSystem {
   public:
    std::vector<SoundDevice> devices() override { return {}; }
    std::unique_ptr<SoundStream> open(const StreamRequest& /*request*/,
                                      BlockTaker& /*taker*/) override {
      throw Error(Fault::machine, "bench", "does not open", "plug it in");
    }
    std::unique_ptr<SoundStream> open_output(const OutputRequest& /*request*/,
                                             BlockTaker& /*taker*/) override {
      throw Error(Fault::machine, "bench", "does not open", "plug it in");
    }
  };
  const WorkshopCase workshop;
  Broken system;
  CHECK_THROWS_AS(record_sound(system, workshop.order(), {}), Error);
  CHECK(files_in(workshop.folder) == std::vector<std::string>{"case.json"});
}

TEST_CASE("recording: the countdown is waited for, and what comes meanwhile is not kept") {
  const WorkshopCase workshop;
  FakeSystem system;
  RecordOrder order = workshop.order();
  order.countdown = Seconds(0.3);
  order.length = Seconds(0.5);
  double longest = 0.0;
  RecordingWatch watch;
  watch.show = [&](const RecordingView& view) {
    longest = std::max(longest, view.until_begin.value);
    if (view.until_begin.value > 0.0) CHECK(view.status.frames == 0);
  };
  RecordedSound sound = record_sound(system, order, watch);
  CHECK(longest > 0.2);
  CHECK(longest <= 0.3);
  const Take take = sound.take.keep().take;
  CHECK(take.frames == 24'000);
  CHECK(first_untold_frame(workshop.folder / take.recording) == 0);  // not from the first on
}
