#include <doctest/doctest.h>

#include <deque>

#include "src/errors.h"
#include "src/keeping/check_case.h"
#include "src/record/run_session.h"
#include "src/record/session_plan.h"
#include "tests/src/record/fake_sound.h"
#include "tests/src/record/workshop_case.h"

using namespace howl;
using namespace howl::test;

namespace fs = std::filesystem;

namespace {

using Ready = ReadyAnswer::Kind;

/// A person who answers as written down, and remembers what they were told.
struct ScriptedPerson {
  std::deque<ReadyAnswer> ready;
  std::deque<VerdictAnswer> verdicts;
  std::vector<std::string> asked;
  std::vector<std::string> told;
  std::vector<TakeVerdict> judged;

  SessionTalk talk() {
    SessionTalk talk;
    talk.ready = [this](const SessionStep& step, std::size_t number, std::size_t count) {
      asked.push_back(step.point + " " + std::to_string(number) + "/" + std::to_string(count));
      if (ready.empty()) return ReadyAnswer{.kind = Ready::end, .device = {}};
      ReadyAnswer answer = ready.front();
      ready.pop_front();
      return answer;
    };
    talk.judge = [this](const RecordedSound&, const TakeVerdict& verdict) {
      judged.push_back(verdict);
      REQUIRE_FALSE(verdicts.empty());
      const VerdictAnswer answer = verdicts.front();
      verdicts.pop_front();
      return answer;
    };
    talk.tell = [this](const std::string& text) { told.push_back(text); };
    return talk;
  }
};

ReadyAnswer say(Ready kind, std::string device = {}) {
  return {.kind = kind, .device = std::move(device)};
}

RecordOrder pattern_for(const WorkshopCase& workshop, double seconds = 1.0) {
  RecordOrder order = workshop.order();
  order.length = Seconds(seconds);
  return order;
}

OpenSoundSystem fake(FakeScript script = {}) {
  return [script] { return std::make_unique<FakeSystem>(script); };
}

std::vector<SessionStep> two_holds() {
  return session_steps({"bell housing"}, {Rpm(1500.0), Rpm(2500.0)});
}

}  // namespace

TEST_CASE("session: point after point, hold after hold") {
  const auto steps = session_steps({"a", "b"}, {Rpm(0.0), Rpm(1500.0)});
  REQUIRE(steps.size() == 4);
  CHECK(steps[0].point == "a");
  CHECK(std::holds_alternative<EngineOff>(steps[0].speed));
  CHECK(steps[1].point == "a");
  CHECK(std::get<EnteredSpeed>(steps[1].speed).speed == Rpm(1500.0));
  CHECK(steps[3].point == "b");
}

TEST_CASE("session: what the case has already is not asked for again") {
  Case value;
  Take take;
  take.point = "a";
  take.speed = EnteredSpeed{Rpm(1530.0)};  // 2 % off: the same hold
  value.takes.push_back(take);
  take.point = "b";
  take.load = {{"ac", "on"}};  // another load state
  value.takes.push_back(take);
  const auto left =
      steps_left(session_steps({"a", "b"}, {Rpm(1500.0), Rpm(1600.0)}), value, Take{});
  REQUIRE(left.size() == 3);
  CHECK(left[0].point == "a");
  CHECK(std::get<EnteredSpeed>(left[0].speed).speed == Rpm(1600.0));
  CHECK(left[1].point == "b");
}

TEST_CASE("session: keep, again and skip do what they say") {
  const WorkshopCase workshop;
  ScriptedPerson person;
  person.ready = {say(Ready::record), say(Ready::record), say(Ready::record)};
  person.verdicts = {VerdictAnswer::again, VerdictAnswer::keep, VerdictAnswer::skip};
  const auto outcome =
      run_session(fake(), pattern_for(workshop), std::nullopt, two_holds(), person.talk());
  CHECK(outcome.kept == 1);
  CHECK(outcome.skipped == 1);
  CHECK_FALSE(outcome.ended_early);
  CHECK(person.asked ==
        std::vector<std::string>{"bell housing 1/2", "bell housing 1/2", "bell housing 2/2"});
  const Case value = load_case(workshop.folder);
  REQUIRE(value.takes.size() == 1);
  CHECK(std::get<EnteredSpeed>(value.takes[0].speed).speed == Rpm(1500.0));
  CHECK(check_case(workshop.folder).empty());
  CHECK_FALSE(fs::exists(workshop.folder / unfinished_folder));
}

TEST_CASE("session: a take is judged by the same rules as an added one") {
  const WorkshopCase workshop;
  ScriptedPerson person;
  person.ready = {say(Ready::record)};
  person.verdicts = {VerdictAnswer::keep};
  run_session(fake(), pattern_for(workshop), std::nullopt, two_holds(), person.talk());
  REQUIRE(person.judged.size() == 1);
  // A hold under 3 s is too short (quality.h), which is a doubt.
  CHECK(person.judged[0].worst >= Severity::doubt);
  bool too_short = false;
  for (const std::string& fault : person.judged[0].faults)
    too_short = too_short || fault.find("1.0 s") != std::string::npos;
  CHECK(too_short);
}

TEST_CASE("session: a lost device is told, what it gave can be kept, and another goes on") {
  const WorkshopCase workshop;
  ScriptedPerson person;
  person.ready = {say(Ready::record), say(Ready::other_device, "no such"), say(Ready::record),
                  say(Ready::other_device, "bench"), say(Ready::record)};
  person.verdicts = {VerdictAnswer::keep, VerdictAnswer::keep};
  int opened = 0;
  const OpenSoundSystem open = [&] {
    FakeScript script;
    if (opened++ == 0) script.dies_after = 36'000;
    return std::make_unique<FakeSystem>(script);
  };
  const auto outcome =
      run_session(open, pattern_for(workshop), std::nullopt, two_holds(), person.talk());
  CHECK(outcome.kept == 2);
  REQUIRE(person.told.size() == 2);
  CHECK(person.told[0].find("was lost after 0.8 s") != std::string::npos);
  CHECK(person.told[1].find("'no such'") != std::string::npos);
  const Case value = load_case(workshop.folder);
  REQUIRE(value.takes.size() == 2);
  CHECK(value.takes[0].frames == 36'000);
  CHECK(value.takes[1].frames == 48'000);
}

TEST_CASE("session: a take that the case refuses is asked for again") {
  const WorkshopCase workshop;
  ScriptedPerson person;
  person.ready = {say(Ready::record)};
  person.verdicts = {VerdictAnswer::keep};
  FakeScript script;
  script.dies_after = 9600;  // a fifth of a second
  const auto outcome =
      run_session(fake(script), pattern_for(workshop), std::nullopt, two_holds(), person.talk());
  CHECK(outcome.kept == 0);
  CHECK(outcome.ended_early);
  CHECK(person.asked.size() == 2);
  CHECK(load_case(workshop.folder).takes.empty());
  CHECK_FALSE(fs::exists(workshop.folder / unfinished_folder));
}
