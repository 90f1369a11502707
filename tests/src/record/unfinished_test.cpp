#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <random>
#include <thread>

#include "src/errors.h"
#include "src/keeping/check_case.h"
#include "src/keeping/unfinished_take.h"
#include "src/record/record_take.h"
#include "tests/src/record/fake_sound.h"
#include "tests/src/record/told_file.h"
#include "tests/src/record/workshop_case.h"

using namespace howl;
using namespace howl::test;

namespace fs = std::filesystem;

namespace {

/// Records in a process of its own, which is killed after `seconds`.
void record_and_be_killed(const WorkshopCase& workshop, double seconds) {
  const pid_t child = fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    FakeScript script;
    script.block = 480;
    script.pause = std::chrono::milliseconds(10);  // as fast as time itself
    FakeSystem system(script);
    RecordOrder order = workshop.order(2);
    order.take.note = "warm";
    record_sound(system, order, {});
    _exit(0);
  }
  std::this_thread::sleep_for(std::chrono::duration<double>(seconds));
  kill(child, SIGKILL);
  int status{};
  waitpid(child, &status, 0);
  REQUIRE(WIFSIGNALED(status));
}

UnfinishedTake begin(const WorkshopCase& workshop) {
  return {workshop.folder, workshop.order().take, false};
}

void write_sound_of(const UnfinishedTake& take, std::size_t frames, bool finish = false) {
  GrowingWav wav(take.recording(),
                 {.coding = SampleCoding::pcm24, .sample_rate = 48000, .channels = 1});
  std::vector<float> sound;
  for (std::size_t n = 0; n < frames; ++n) sound.push_back(told_sample(n, 0));
  wav.write(sound);
  if (finish) wav.finish();
}

}  // namespace

TEST_CASE("unfinished: a killed recording is a take of the case at the next start") {
  std::mt19937 random(5);
  for (int i = 0; i < 3; ++i) {
    const WorkshopCase workshop;
    const double seconds = std::uniform_real_distribution(0.8, 1.4)(random);
    record_and_be_killed(workshop, seconds);
    const std::vector<Mending> mendings = mend_unfinished(workshop.folder);
    REQUIRE(mendings.size() == 1);
    CHECK(mendings[0].settled);
    const Case value = load_case(workshop.folder);
    REQUIRE(value.takes.size() == 1);
    const Take& take = value.takes[0];
    CHECK(take.note == "warm; recording was interrupted");
    CHECK(first_untold_frame(workshop.folder / take.recording) == take.frames);
    CHECK(static_cast<double>(take.frames) / take.sample_rate > seconds - 1.0);
    CHECK(check_case(workshop.folder).empty());
    CHECK_FALSE(fs::exists(workshop.folder / unfinished_folder));
    CHECK(mend_unfinished(workshop.folder).empty());
  }
}

TEST_CASE("unfinished: what a living program records is left alone") {
  const WorkshopCase workshop;
  UnfinishedTake take = begin(workshop);
  write_sound_of(take, 48'000, true);
  CHECK(mend_unfinished(workshop.folder).empty());
  CHECK(fs::exists(take.recording()));
  take.keep();
  CHECK(load_case(workshop.folder).takes.size() == 1);
}

TEST_CASE("unfinished: two recordings at once get names of their own") {
  const WorkshopCase workshop;
  const UnfinishedTake one = begin(workshop);
  const UnfinishedTake other = begin(workshop);
  CHECK(one.recording() != other.recording());
}

TEST_CASE("unfinished: losses that were noted before the end are in the mended take") {
  const WorkshopCase workshop;
  {
    UnfinishedTake take = begin(workshop);
    write_sound_of(take, 48'000);
    take.note_overruns({{.at = Seconds(0.25), .frames = 480}});
  }
  mend_unfinished(workshop.folder);
  const Case value = load_case(workshop.folder);
  REQUIRE(value.takes.size() == 1);
  REQUIRE(value.takes[0].overruns.size() == 1);
  CHECK(value.takes[0].overruns[0].at.value == 0.25);
  CHECK(value.takes[0].overruns[0].frames == 480);
}

TEST_CASE("unfinished: digital silence is deleted, one sounding channel is not") {
  const WorkshopCase workshop;
  const auto record_two = [&workshop](float probe, float reference) {
    UnfinishedTake take(workshop.folder, workshop.order(2).take, false);
    GrowingWav wav(take.recording(),
                   {.coding = SampleCoding::pcm24, .sample_rate = 48000, .channels = 2});
    std::vector<float> sound;
    for (std::size_t n = 0; n < 48'000; ++n) {
      sound.push_back(probe * told_sample(n, 0));
      sound.push_back(reference * told_sample(n, 1));
    }
    wav.write(sound);
    wav.finish();
    return take.is_silent();
  };
  CHECK(record_two(0.0F, 0.0F));
  const auto silent = mend_unfinished(workshop.folder);
  REQUIRE(silent.size() == 1);
  CHECK(silent[0].settled);
  CHECK(silent[0].outcome.find("silence; deleted") != std::string::npos);
  CHECK_FALSE(fs::exists(workshop.folder / unfinished_folder));
  // The probe's channel is silent, but the other one may be what was meant.
  CHECK_FALSE(record_two(0.0F, 1.0F));
  const auto sounding = mend_unfinished(workshop.folder);
  REQUIRE(sounding.size() == 1);
  CHECK_FALSE(sounding[0].settled);
  CHECK(fs::exists(sounding[0].recording));
}

TEST_CASE("unfinished: less than half a second is deleted, and that is said") {
  const WorkshopCase workshop;
  { write_sound_of(begin(workshop), 23'000); }
  const auto mendings = mend_unfinished(workshop.folder);
  REQUIRE(mendings.size() == 1);
  CHECK(mendings[0].settled);
  CHECK(mendings[0].outcome.find("deleted") != std::string::npos);
  CHECK(load_case(workshop.folder).takes.empty());
  CHECK_FALSE(fs::exists(workshop.folder / unfinished_folder));
}

TEST_CASE("unfinished: what cannot be made a take stays, with what to do") {
  const WorkshopCase workshop;
  fs::path recording;
  {
    const UnfinishedTake take = begin(workshop);
    recording = take.recording();
    write_sound_of(take, 48'000);
  }
  Case value = load_case(workshop.folder);
  value.points = {{.name = "idler bolt", .description = ""}};  // the point has gone
  save_case(workshop.folder, value);
  const auto mendings = mend_unfinished(workshop.folder);
  REQUIRE(mendings.size() == 1);
  CHECK_FALSE(mendings[0].settled);
  CHECK(mendings[0].outcome.find("bell housing") != std::string::npos);
  CHECK(first_untold_frame(recording) == 48'000);
}

TEST_CASE("unfinished: death between moving the recording and entering it loses nothing") {
  const WorkshopCase workshop;
  {
    const UnfinishedTake take = begin(workshop);
    write_sound_of(take, 48'000, true);
    fs::rename(take.recording(), workshop.folder / "recordings/t01-bell_housing.wav");
  }
  REQUIRE(mend_unfinished(workshop.folder).size() == 1);
  const Case value = load_case(workshop.folder);
  REQUIRE(value.takes.size() == 1);
  CHECK(first_untold_frame(workshop.folder / value.takes[0].recording) == 48'000);
  CHECK(check_case(workshop.folder).empty());
}

TEST_CASE("unfinished: death between entering the take and forgetting the plan changes nothing") {
  const WorkshopCase workshop;
  {
    UnfinishedTake take = begin(workshop);
    write_sound_of(take, 48'000, true);
    const std::string plan = content_of(workshop.folder / "unfinished/bell_housing.json");
    take.keep();
    fs::create_directory(workshop.folder / unfinished_folder);
    write_text(workshop.folder / "unfinished/bell_housing.json", plan);
  }
  CHECK(mend_unfinished(workshop.folder).empty());
  CHECK(load_case(workshop.folder).takes.size() == 1);
  CHECK(check_case(workshop.folder).empty());
}

TEST_CASE("unfinished: a take that is refused keeps its recording where it was") {
  const WorkshopCase workshop;
  UnfinishedTake take = begin(workshop);
  write_sound_of(take, 12'000, true);  // a quarter of a second
  CHECK_THROWS_AS(take.keep(), Error);
  CHECK(first_untold_frame(take.recording()) == 12'000);
  CHECK(load_case(workshop.folder).takes.empty());
}
