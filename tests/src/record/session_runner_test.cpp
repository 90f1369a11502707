#include "src/record/session_runner.h"

#include <doctest/doctest.h>

#include <chrono>
#include <thread>

#include "src/keeping/unfinished_take.h"
#include "src/record/session_plan.h"
#include "tests/src/record/fake_sound.h"
#include "tests/src/record/workshop_case.h"

using namespace howl;
using namespace howl::test;

namespace fs = std::filesystem;

namespace {

using Ready = ReadyAnswer::Kind;

OpenSoundSystem on_fake(FakeScript script = {}) {
  return [script] { return std::make_unique<FakeSystem>(script); };
}

std::vector<SessionStep> holds(std::vector<Rpm> speeds) {
  return session_steps({"bell housing"}, speeds);
}

RecordOrder pattern(const WorkshopCase& workshop, std::optional<Seconds> length = Seconds(1.0)) {
  RecordOrder order = workshop.order();
  order.length = length;
  return order;
}

/// Waits for a phase; fails where it does not come.
bool reaches(const SessionRunner& runner, SessionPhase phase) {
  for (int i = 0; i < 1000; ++i) {
    if (runner.view().phase == phase) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  return false;
}

}  // namespace

TEST_CASE("session runner: asks, records, judges, keeps, step after step") {
  const WorkshopCase workshop;
  std::atomic<int> looked{};
  SessionRunner runner(on_fake(), pattern(workshop), std::nullopt, holds({Rpm(1500), Rpm(2500)}),
                       false, [&] { ++looked; });
  REQUIRE(reaches(runner, SessionPhase::asking));
  CHECK(runner.view().number == 1);
  CHECK(runner.view().count == 2);
  CHECK(runner.view().step.point == "bell housing");
  runner.judge(VerdictAnswer::keep);  // out of turn
  runner.answer({.kind = Ready::record, .device = {}});
  REQUIRE(reaches(runner, SessionPhase::judged));
  CHECK(runner.view().verdict);
  CHECK(runner.view().recording.status.frames == 48'000);
  CHECK(runner.view().recording.status.meters.size() == 1);
  runner.judge(VerdictAnswer::keep);
  REQUIRE(reaches(runner, SessionPhase::asking));
  CHECK(runner.view().kept == 1);
  REQUIRE(runner.view().last_kept);
  CHECK(runner.view().last_kept->id == "t01");
  CHECK(runner.view().number == 2);
  runner.answer({.kind = Ready::skip, .device = {}});
  REQUIRE(reaches(runner, SessionPhase::over));
  CHECK(runner.view().outcome->kept == 1);
  CHECK(runner.view().outcome->skipped == 1);
  CHECK_FALSE(runner.view().fault);
  CHECK(looked > 4);
  CHECK(load_case(workshop.folder).takes.size() == 1);
}

TEST_CASE("session runner: one take begins at once, and ends when it is told to") {
  const WorkshopCase workshop;
  SessionRunner runner(on_fake(), pattern(workshop, std::nullopt), std::nullopt, holds({Rpm(1500)}),
                       true);
  REQUIRE(reaches(runner, SessionPhase::recording));
  while (runner.view().recording.status.frames < 30'000)
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  runner.stop();
  REQUIRE(reaches(runner, SessionPhase::judged));
  runner.judge(VerdictAnswer::again);
  REQUIRE(reaches(runner, SessionPhase::asking));
  CHECK(load_case(workshop.folder).takes.empty());
  runner.answer({.kind = Ready::end, .device = {}});
  REQUIRE(reaches(runner, SessionPhase::over));
  CHECK_FALSE(fs::exists(workshop.folder / unfinished_folder));
}

TEST_CASE("session runner: broken off, a take stays unfinished and is mended") {
  const WorkshopCase workshop;
  {
    SessionRunner runner(on_fake(), pattern(workshop, std::nullopt), std::nullopt,
                         holds({Rpm(1500)}), true);
    REQUIRE(reaches(runner, SessionPhase::recording));
    while (runner.view().recording.status.frames < 48'000)
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  CHECK(load_case(workshop.folder).takes.empty());
  REQUIRE(fs::exists(workshop.folder / unfinished_folder));
  const auto mended = mend_unfinished(workshop.folder);
  REQUIRE(mended.size() == 1);
  CHECK(mended[0].settled);
  const Case value = load_case(workshop.folder);
  REQUIRE(value.takes.size() == 1);
  CHECK(value.takes[0].frames >= 48'000);
}

TEST_CASE("session runner: broken off before it is judged, a take is mended too") {
  const WorkshopCase workshop;
  {
    SessionRunner runner(on_fake(), pattern(workshop), std::nullopt, holds({Rpm(1500)}), true);
    REQUIRE(reaches(runner, SessionPhase::judged));
  }
  mend_unfinished(workshop.folder);
  CHECK(load_case(workshop.folder).takes.size() == 1);
}

TEST_CASE("session runner: a device that goes is told, and the step is asked for again") {
  const WorkshopCase workshop;
  FakeScript script;
  script.dies_after = 9600;  // too short to keep
  SessionRunner runner(on_fake(script), pattern(workshop), std::nullopt, holds({Rpm(1500)}), true);
  REQUIRE(reaches(runner, SessionPhase::judged));
  REQUIRE_FALSE(runner.view().told.empty());
  CHECK(runner.view().told[0].find("was lost after 0.2 s") != std::string::npos);
  runner.judge(VerdictAnswer::keep);
  REQUIRE(reaches(runner, SessionPhase::asking));
  CHECK(runner.view().told.size() == 2);  // and that it is too short
}

TEST_CASE("session runner: a case that is gone ends the session, and is told") {
  const WorkshopCase workshop;
  const RecordOrder order = pattern(workshop);
  fs::remove_all(workshop.folder);
  SessionRunner runner(on_fake(), order, std::nullopt, holds({Rpm(1500)}), true);
  REQUIRE(reaches(runner, SessionPhase::over));
  CHECK(runner.view().fault);
}
