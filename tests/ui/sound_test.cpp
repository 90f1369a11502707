// Listening and recording: the model, and its panels without a display. A fake device stands in for
// the computer's.

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <string>
#include <thread>

#include "src/case/find_take.h"
#include "src/errors.h"
#include "src/keeping/unfinished_take.h"
#include "tests/src/record/fake_sound.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/script/script.h"
#include "ui/state/keys.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)
using howl::test::DeafSystem;
using howl::test::FakeScript;
using howl::test::FakeSystem;
using howl::test::PlayedSound;

namespace {

/// A desk with the workshop's case on it and a device to play to and record from.
struct SoundDesk {
  bench::Workshop workshop;
  std::shared_ptr<PlayedSound> played = std::make_shared<PlayedSound>();
  Desk desk{Settings{}, {}, [this] {
              return std::make_unique<FakeSystem>(
                  FakeScript{.pause = std::chrono::microseconds(2000)}, played);
            }};
  SoundDesk() { bench::open_on(desk, workshop.folder); }
  const DeskState& state() const { return desk.state(); }
  const ListenState& listen() const { return desk.state().listen; }

  template <class Holds>
  bool until(Holds holds) {
    for (int i = 0; i < 2000; ++i) {
      desk.poll();
      if (holds()) return true;
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return false;
  }
  bool until_recording_is(std::string_view key) {
    return until([&] { return recording_key(state().record) == key; });
  }
};

}  // namespace

TEST_CASE("what is shown is played, the cursor goes along, and stops where it was stopped") {
  SoundDesk open;
  open.desk.apply(PickTake{"t01"});
  AdjustSound zoom;
  zoom.view.time_s = Interval{1.0, 2.0};
  open.desk.apply(zoom);
  CHECK_FALSE(open.desk.lively());
  open.desk.apply(PlaySound{true});
  CHECK(open.desk.lively());
  REQUIRE(open.until([&] { return open.listen().at_s && *open.listen().at_s > 1.2; }));
  CHECK(open.listen().playing);
  CHECK(open.listen().range_s == Interval{1.0, 2.0});
  CHECK(*open.listen().at_s <= 2.0);
  CHECK(open.state().view.sound.cursor_s == open.listen().at_s);
  // It loops until it is stopped.
  const double before = *open.listen().at_s;
  REQUIRE(open.until([&] { return open.listen().at_s && *open.listen().at_s < before; }));
  open.desk.apply(PlaySound{false});
  REQUIRE(open.until([&] { return !open.listen().playing; }));
  CHECK_FALSE(open.desk.lively());
  CHECK(open.state().view.sound.cursor_s);
}

TEST_CASE("without a loop it ends by itself") {
  SoundDesk open;
  open.desk.apply(PickTake{"t01"});
  open.desk.apply(LoopSound{false});
  open.desk.apply(PlaySound{true});
  REQUIRE(open.until([&] { return open.listen().playing; }));
  REQUIRE(open.until([&] { return !open.listen().wanted && !open.listen().playing; }));
  // 3.5 s at 48 kHz, at a volume of −24 dB: the howl of peak 0.2 is heard at 0.0126.
  const auto samples = open.played->samples();
  const float loudest = *std::ranges::max_element(samples);
  CHECK(loudest == doctest::Approx(0.2 * std::pow(10.0, -24.0 / 20)).epsilon(0.1));
  CHECK(std::ranges::count_if(samples, [](float s) { return s != 0.0F; }) > 3.4 * 48'000);
}

TEST_CASE("what is heard changes while it plays, at the same place") {
  SoundDesk open;
  open.desk.apply(PickTake{"t01"});
  open.desk.apply(PlaySound{true});
  REQUIRE(open.until([&] { return open.listen().at_s && *open.listen().at_s > 0.5; }));
  open.desk.apply(SlowSound{4});
  CHECK(open.listen().wanted);
  open.desk.finish_jobs();
  REQUIRE(open.until([&] { return !open.listen().waits; }));
  CHECK(heard_words(open.state()) == "the whole sound, quarter speed");
  open.desk.apply(HearAs{Heard::tone});
  CHECK(heard_words(open.state()) == "order 10.00 alone, quarter speed");
  open.desk.finish_jobs();
  REQUIRE(open.until([&] { return open.listen().playing && !open.listen().waits; }));
  CHECK(open.listen().fault.empty());
  open.desk.apply(HearAs{Heard::band});
  open.desk.apply(SlowSound{1});
  CHECK(heard_words(open.state()) == "the suspect band");
  open.desk.finish_jobs();
  REQUIRE(open.until([&] { return open.listen().playing && !open.listen().waits; }));
}

TEST_CASE("where no tone is picked any more, all is heard again") {
  SoundDesk open;
  open.desk.apply(PickTake{"t01"});
  open.desk.apply(HearAs{Heard::tone});
  REQUIRE(open.listen().heard == Heard::tone);
  open.desk.apply(PlaySound{true});
  REQUIRE(open.until([&] { return open.listen().playing; }));
  open.desk.apply(PickTone{});
  CHECK(open.listen().heard == Heard::take);
  CHECK_FALSE(can_hear(open.state(), Heard::tone));
  open.desk.apply(HearAs{Heard::without});
  CHECK(open.listen().heard == Heard::take);
  open.desk.finish_jobs();
  CHECK(open.until([&] { return open.listen().playing && open.listen().fault.empty(); }));
}

TEST_CASE("an order that is read off the map can be heard alone") {
  SoundDesk open;
  open.desk.apply(PickTake{"t01"});
  open.desk.apply(ReadOrder{15.0});
  const auto tone = tone_to_hear(open.state());
  REQUIRE(tone);
  CHECK(tone->words == "order 15.00");
  CHECK(tone->request.orders.front() == Order(15.0));
}

TEST_CASE("two points at one speed are switched between, levels matched or true") {
  SoundDesk open;
  open.desk.apply(PickTake{"t01"});
  CHECK(takes_at_same_speed(open.state()) == std::vector<std::string>{"t02"});
  open.desk.apply(HearAgainst{"t03"});  // at another speed
  CHECK_FALSE(open.listen().other);
  open.desk.apply(HearAgainst{"t02"});
  open.desk.apply(PlaySound{true});
  open.desk.finish_jobs();
  REQUIRE(open.until([&] { return open.listen().playing; }));
  // Peaks of 0.2 and 0.05: 20 lg 4 = 12.04 dB, in the suspect band, where noise adds nothing.
  REQUIRE(open.listen().match_db);
  CHECK(*open.listen().match_db == doctest::Approx(12.04).epsilon(0.01));
  const double before = *open.listen().at_s;
  open.desk.apply(HearOther{true});
  CHECK(open.listen().on_other);
  REQUIRE(open.until([&] { return open.listen().at_s && *open.listen().at_s != before; }));
  CHECK(open.listen().playing);
  open.desk.apply(MatchLevels{false});
  open.desk.apply(HearOther{false});
  CHECK(open.until([&] { return open.listen().playing; }));
  // A take at another speed has none of these beside it.
  open.desk.apply(PickTake{"t03"});
  CHECK_FALSE(open.listen().other);
}

TEST_CASE("a microphone that does not open is told in the window's own words, and can be changed") {
  class Busy final : public FakeSystem {
   public:
    std::unique_ptr<SoundStream> open(const StreamRequest&, BlockTaker&) override {
      throw Error(Fault::machine, "device 'bench'", "does not open (busy)",
                  "close the program that uses it, or choose another with --device");
    }
  };
  const bench::Workshop workshop;
  Desk desk(Settings{}, {}, [] { return std::make_unique<Busy>(); });
  bench::open_on(desk, workshop.folder);
  desk.apply(PlanTakes{{.point = "transmission pan", .countdown = 0.0}});
  desk.apply(BeginRecording{});
  for (int i = 0; i < 1000 && recording_key(desk.state().record) != "asking"; ++i) {
    desk.poll();
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  REQUIRE(desk.state().record.running);
  REQUIRE_FALSE(desk.state().record.running->told.empty());
  CHECK(desk.state().record.running->told[0] ==
        "device 'bench': does not open (busy); close the program that uses it, or choose another "
        "microphone");
  CHECK(load_case(workshop.folder).takes.size() == 4);
}

TEST_CASE("without a sound card it is told where it arises, with what to do") {
  const bench::Workshop workshop;
  Desk desk(Settings{}, {}, [] { return std::make_unique<DeafSystem>(); });
  bench::open_on(desk, workshop.folder);
  desk.apply(PlaySound{true});
  desk.finish_jobs();
  desk.poll();
  CHECK(desk.state().listen.fault == "sound devices: there is none with an output");
  CHECK(desk.state().listen.remedy.find("headphones") != std::string::npos);
  CHECK_FALSE(desk.state().listen.wanted);
  desk.apply(ListDevices{});
  desk.finish_jobs();
  CHECK(desk.state().record.device_fault == "No microphone was found");
}

TEST_CASE("the volume is kept within what is allowed, and begins low") {
  Desk desk(Settings{}, {}, [] { return std::make_unique<DeafSystem>(); });
  CHECK(desk.state().settings.volume_db == -24);
  desk.apply(SetVolume{100});
  CHECK(desk.state().settings.volume_db == kLoudest);
  // On another day it is no louder than the recording.
  CHECK(parse_settings(settings_text(desk.state().settings)).volume_db == 0);
  Settings soft;
  soft.volume_db = -33;
  CHECK(parse_settings(settings_text(soft)) == soft);
}

TEST_CASE("the transport is pressed and told by keys") {
  SoundDesk open;
  bench::Stage stage(open.desk);
  stage.click("step.listen");
  stage.click("takes.t01");
  stage.frames(2);
  for (const auto& [name, area] : stage.targets)
    if (name.starts_with("play.") || name == "play") {
      CAPTURE(name);
      CHECK(area.h >= kTouch - 6.5F);  // choices lie 3 units inside theirs
    }
  stage.click("play.what.Tone");
  CHECK(open.listen().heard == Heard::tone);
  stage.click("play.slow.½");
  CHECK(open.listen().slowness == 2);
  stage.click("play.loop");
  CHECK_FALSE(open.listen().loop);
  stage.click("play.against");
  CHECK(open.listen().other == "t02");
  stage.click("play.side.B");
  CHECK(open.listen().on_other);
  stage.click("play.levels.True");
  CHECK_FALSE(open.listen().matched);
  stage.click("play.louder");
  CHECK(open.state().settings.volume_db == -21);
  stage.click("play.against");
  CHECK_FALSE(open.listen().other);
  stage.click("play");
  CHECK(open.listen().wanted);
  const auto press = [&](std::string_view key) {
    const auto wish = wish_of_key(key, open.state());
    REQUIRE(wish);
    open.desk.apply(*wish);
  };
  press("Space");
  CHECK_FALSE(open.listen().wanted);
  press("L");
  CHECK(open.listen().loop);
  press("B");
  CHECK(open.listen().heard == Heard::without);
  press("B");
  CHECK(open.listen().heard == Heard::take);
  press("S");
  CHECK(open.listen().slowness == 4);
  press("[");
  CHECK(open.state().settings.volume_db == -24);
}

TEST_CASE("a plan is adjusted part by part, within what an engine does") {
  RecordPlan plan;
  plan = adjusted(plan, {.rpm = 50.0});
  CHECK(plan.rpm == kLeastRpm);
  plan = adjusted(plan, {.toggle_hold = 2000.0});
  plan = adjusted(plan, {.toggle_hold = 900.0});
  CHECK(plan.holds == std::vector<double>{900, 1500, 2000});
  plan = adjusted(plan, {.toggle_hold = 1500.0});
  CHECK(plan.holds == std::vector<double>{900, 2000});
  plan = adjusted(plan, {.load = std::pair<std::string, std::string>("ac", "on")});
  CHECK(plan.load == LoadState{{"ac", "on"}});
  plan = adjusted(plan, {.load = std::pair<std::string, std::string>("ac", "")});
  CHECK(plan.load.empty());
  CHECK(cautions_of(plan).empty());
  plan = adjusted(plan, {.road_kmh = 60.0});
  CHECK(cautions_of(plan) == road_cautions());
  plan = adjusted(plan, {.road_kmh = -10.0});
  CHECK(plan.road_kmh == 0);
  CHECK(cautions_of(plan).empty());
}

TEST_CASE("without a microphone the record button is out, and asking again is what it does") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk(Settings{}, {}, [] { return std::make_unique<DeafSystem>(); });
  bench::open_on(desk, workshop.folder);
  desk.apply(GoTo{Step::record});
  desk.apply(ShowTakes{false});
  desk.finish_jobs();
  CHECK(desk.state().record.has_no_device());
  bench::Stage stage(desk);
  stage.frames(2);
  CHECK(stage.targets.contains("record.devices"));
  stage.click("record.begin");
  CHECK_FALSE(desk.busy());                         // it is not lit, and does nothing
  desk.apply(*wish_of_key("Space", desk.state()));  // looks whether one is there by now
  CHECK(desk.busy());
  desk.finish_jobs();
  CHECK_FALSE(desk.state().record.running);
  CHECK(desk.state().record.device_fault == "No microphone was found");
}

TEST_CASE("the signal in words, as the advice on the gain has it") {
  using Kind = SignalWords::Kind;
  CHECK(signal_words({}).kind == Kind::none);
  CHECK(signal_words({.highest = 0.01}).kind == Kind::quiet);
  CHECK(signal_words({.highest = 0.25}).kind == Kind::good);
  CHECK(signal_words({.highest = 0.9}).kind == Kind::loud);
  CHECK(signal_words({.highest = 1.0, .clipped = 3}).words == "Clipped");
}

TEST_CASE("one take is recorded, judged, kept, and part of the answer") {
  SoundDesk open;
  open.desk.apply(GoTo{Step::record});
  open.desk.finish_jobs();
  REQUIRE(open.state().record.devices.size() == 1);
  CHECK_FALSE(open.state().record.plan.point.empty());
  open.desk.apply(
      PlanTakes{{.point = "steering pump body", .rpm = 1200.0, .seconds = 4.0, .countdown = 0.0}});
  open.desk.apply(BeginRecording{});
  open.desk.apply(PlaySound{true});  // not meanwhile
  CHECK_FALSE(open.listen().wanted);
  REQUIRE(open.until_recording_is("judged"));
  CHECK(open.state().record.running->verdict);
  open.desk.apply(JudgeTake{VerdictAnswer::keep});
  REQUIRE(open.until_recording_is("no"));
  CHECK(open.state().record.ended == "1 take was recorded");
  open.desk.finish_jobs();
  REQUIRE(open.state().opened->value.takes.size() == 5);
  const Take& take = open.state().opened->value.takes.back();
  CHECK(take.point == "steering pump body");
  CHECK(std::get<EnteredSpeed>(take.speed).speed == Rpm(1200.0));
  CHECK(take.frames == 4 * 48'000);
  REQUIRE(open.state().answer);
  CHECK(find_take(open.state().answer->analysis, take.id) != nullptr);
  CHECK(open.state().view.step == Step::record);
}

TEST_CASE("a session goes through what the case lacks, by touch") {
  SoundDesk open;
  bench::Stage stage(open.desk);
  stage.click("step.record");
  open.desk.finish_jobs();
  stage.click("record.side.Record");
  open.desk.apply(PlanTakes{{.seconds = 1.0, .countdown = 0.0}});
  stage.click("record.session.Point after point");
  const std::size_t points =
      all_points(open.state().opened->value, open.state().opened->profile).size();
  // At 1500 rpm two points were recorded already.
  CHECK(steps_of(open.state().record.plan, open.state()).size() == points - 2);
  stage.click("record.begin");
  REQUIRE(open.until_recording_is("asking"));
  CHECK(open.state().record.running->count == points - 2);
  stage.click("record.go");
  REQUIRE(open.until_recording_is("judged"));
  stage.click("record.keep");
  REQUIRE(open.until_recording_is("asking"));
  stage.click("record.end");
  REQUIRE(open.until_recording_is("no"));
  open.desk.finish_jobs();
  CHECK(open.state().opened->value.takes.size() == 5);
}

TEST_CASE("a judged take's faults name no option of the command line") {
  SessionView session;
  session.told = {"no device; see 'howlpoint devices'"};
  session.verdict =
      TakeVerdict{Severity::doubt, {"check the speed, or change the take to --rpm-from-sound"}, {}};
  const SessionView shown = in_window(session);
  CHECK(shown.verdict->faults[0] == "check the speed, or change the take's speed to 'Sound'");
  CHECK(shown.told[0] == "no device; press 'Look again'");
}

TEST_CASE("a session is seen from every step, and told of when it ends with its case") {
  SoundDesk open;
  bench::Stage stage(open.desk);
  stage.frames(2);
  CHECK_FALSE(stage.targets.contains("words.running"));
  CHECK(running_words(open.state().record).empty());
  open.desk.apply(PlanTakes{{.seconds = 1.0, .countdown = 0.0, .session = true}});
  open.desk.apply(BeginRecording{});
  REQUIRE(open.until_recording_is("asking"));
  open.desk.apply(GoTo{Step::listen});
  stage.frames(2);
  const std::size_t count = open.state().record.running->count;
  CHECK(running_words(open.state().record) == "session: 1 of " + std::to_string(count));
  REQUIRE(stage.targets.contains("words.running"));
  const Area& row = stage.area_of("step.record");
  CHECK(row.contains(stage.area_of("words.running").centre()));
  open.desk.apply(CloseCase{});
  REQUIRE(open.state().notices.size() == 1);
  CHECK(open.state().notices[0].what.starts_with("The session was ended at 1 of "));
  stage.frames(2);
  CHECK(stage.targets.contains("notice.close.0"));
}

TEST_CASE("speed by steppers and by the number pad") {
  SoundDesk open;
  bench::Stage stage(open.desk);
  stage.click("step.record");
  stage.click("record.side.Record");
  stage.click("record.rpm.more");
  CHECK(open.state().record.plan.rpm == 1550);
  stage.click("record.rpm.pad");
  for (const char* key : {"pad.2", "pad.3", "pad.0", "pad.0"}) stage.click(key);
  CHECK(open.state().record.typed == "2300");
  stage.click("pad.Delete");
  stage.click("pad.0");
  stage.click("pad.take");
  CHECK(open.state().record.plan.rpm == 2300);
  CHECK_FALSE(open.state().record.pad_shown);
  // The same by keys; digits mean steps again once the pad is closed.
  const auto press = [&](std::string_view key) {
    const auto wish = wish_of_key(key, open.state());
    REQUIRE(wish);
    open.desk.apply(*wish);
  };
  stage.click("record.rpm.pad");
  for (const char* key : {"9", "5", "7", "Backspace", "Enter"}) press(key);  // 95: no engine
  CHECK(open.state().record.pad_shown);
  press("0");
  press("Enter");
  CHECK(open.state().record.plan.rpm == 950);
  press("+");
  CHECK(open.state().record.plan.rpm == 1000);
  const std::string before = open.state().record.plan.point;
  press("Down");
  CHECK(open.state().record.plan.point != before);
  press("Up");
  CHECK(open.state().record.plan.point == before);
  press("4");
  CHECK(open.state().view.step == Step::listen);
}

TEST_CASE("a case that is closed while it is recorded into is mended when it is opened again") {
  SoundDesk open;
  open.desk.apply(PlanTakes{{.point = "transmission pan", .seconds = 0.0, .countdown = 0.0}});
  open.desk.apply(BeginRecording{});
  REQUIRE(open.until([&] {
    return open.state().record.running &&
           open.state().record.running->recording.status.frames > 60'000;
  }));
  open.desk.apply(CloseCase{});
  CHECK_FALSE(open.state().record.running);
  CHECK(std::filesystem::exists(open.workshop.folder / unfinished_folder));
  bench::open_on(open.desk, open.workshop.folder);
  CHECK(open.state().opened->value.takes.size() == 5);
  REQUIRE_FALSE(open.state().notices.empty());
  CHECK(open.state().notices[0].what.find("was not finished; kept as t05") != std::string::npos);
}

TEST_CASE("scripts say what is played and recorded") {
  const auto lines = parse_script(
      "play\nstop\nloop on\nhear tone\nslow half\nagainst t02\nother on\nmatch off\nvolume -30\n"
      "plan point \"transmission pan\"\nplan load ac=on\nrecord begin\nready record\njudge keep\n",
      "test");
  REQUIRE(lines.size() == 14);
  const auto* plan = std::get_if<Intention>(&lines[10].command);
  REQUIRE(plan != nullptr);
  CHECK(std::get<PlanTakes>(*plan).change.load->second == "on");
  CHECK_THROWS(parse_script("hear everything\n", "test"));
  CHECK_THROWS(parse_script("plan mood good\n", "test"));
}
