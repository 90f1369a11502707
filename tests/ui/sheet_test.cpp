#include "ui/state/sheet.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <string>
#include <vector>

#include "src/case/case_folder.h"
#include "src/errors.h"
#include "src/keeping/add_take.h"
#include "src/keeping/check_case.h"
#include "src/keeping/exchange_case.h"
#include "src/profile/profile.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"

using namespace howl;
using namespace howl::desk;
namespace fs = std::filesystem;

namespace {

struct SheetDesk {
  bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk{Settings{}};

  SheetDesk() { wish(OpenCase{workshop.folder}); }
  const DeskState& state() const { return desk.state(); }
  const Case& value() const { return desk.state().opened->value; }
  Case stored() const { return load_case(workshop.folder); }
  void wish(const Intention& intention) {
    desk.apply(intention);
    desk.finish_jobs();
  }
  void type(const std::string& name, const std::string& text) { wish(TypeInto{name, text}); }
  /// Another recording for each name: one that is in the case already would be refused.
  fs::path sound(const std::string& name) const {
    const auto seed = static_cast<unsigned>(name.front());
    return howl::test::write_sound(
        workshop.scratch / name, bench::tone_in_noise(250, 0.1, 1.0, seed), {.rate = bench::kRate});
  }
};

const Take& take_named(const Case& value, const std::string& id) {
  const auto found = std::ranges::find(value.takes, id, &Take::id);
  REQUIRE(found != value.takes.end());
  return *found;
}

/// Cylinders that are not quite alike: firing orders, and half orders well below them.
std::vector<double> four_cylinders_running(double rpm, double seconds) {
  std::vector<double> sound = bench::tone_in_noise(0.0, 0.0, seconds, 1);
  for (int k = 1; k <= 32; ++k) {
    const double peak = (k % 4 == 0 ? 0.02 : 0.0024) / k;
    const double step = 2.0 * std::numbers::pi * 0.5 * k * rpm / 60.0 / bench::kRate;
    for (std::size_t i = 0; i < sound.size(); ++i)
      sound[i] += peak * std::sin(step * static_cast<double>(i) + 1.7 * k * k);
  }
  return sound;
}

}  // namespace

TEST_CASE("a folder shows folders, cases and what is wanted, and nothing hidden") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  fs::create_directory(workshop.scratch / "a folder");
  fs::create_directory(workshop.scratch / ".hidden");
  for (const char* name : {"Log.CSV", "take.WAV", "photo.jpg"})
    std::ofstream(workshop.scratch / name) << "x";
  using Kind = PlaceEntry::Kind;
  const auto names = [](const Place& place) {
    std::vector<std::string> all;
    for (const PlaceEntry& entry : place.entries) all.push_back(entry.name);
    return all;
  };
  const fs::path here = workshop.scratch / "";
  CHECK(names(read_place(here, Wanted::case_folder)) ==
        std::vector<std::string>{"a folder", "whine"});
  const Place sounds = read_place(here, Wanted::sounds);
  CHECK(sounds.entries[1] == PlaceEntry{Kind::case_folder, "whine"});
  CHECK(sounds.entries.back() == PlaceEntry{Kind::file, "take.WAV"});
  CHECK(read_place(here, Wanted::log).entries.back() == PlaceEntry{Kind::file, "Log.CSV"});
  CHECK_FALSE(read_place(here / "nowhere", Wanted::sounds).fault.empty());
}

TEST_CASE("what is typed of a take is what it says when it is to be changed") {
  Fields fields{{"point", "transmission pan"},
                {"speed", "rpm"},
                {"rpm", "1525.5"},
                {"load.ac", "on"},
                {"note", "rough"},
                {"background", "yes"},
                {"road-speed", "40"},
                {"reference", "2"},
                {"load.selector", "D"}};
  const Take take = take_of(typed_take(fields));
  CHECK(std::get<EnteredSpeed>(take.speed).speed.value == 1525.5);
  CHECK(take.load == LoadState{{"ac", "on"}, {"selector", "D"}});
  CHECK(take.background);
  const Fields again = fields_of(take);
  for (const auto& [name, value] : fields) CHECK(field(again, name) == value);

  fields["speed"] = "off";
  CHECK(std::holds_alternative<EngineOff>(take_of(typed_take(fields)).speed));
  fields["speed"] = "sound";
  fields["near"] = "1400";
  CHECK(std::get<SpeedInSound>(take_of(typed_take(fields)).speed).near->value == 1400);
  fields["speed"] = "ramp";
  fields["ramp"] = "0:800,30:3000";
  CHECK(std::get<EnteredRamp>(take_of(typed_take(fields)).speed).points.size() == 2);
  fields["speed"] = "tacho";
  fields["tacho"] = "2";
  CHECK_THROWS_AS(take_of(typed_take(fields)), Error);  // no pulses
}

TEST_CASE("a sheet's complaints name its fields, not the command line's options") {
  for (const Fields& fields : {Fields{{"point", "pan"}}, Fields{{"point", "pan"}, {"rpm", "x"}},
                               Fields{{"point", "pan"}, {"speed", "ramp"}, {"ramp", "1"}},
                               Fields{{"point", "pan"}, {"speed", "tacho"}, {"tacho", "2"}}}) {
    try {
      take_of(typed_take(fields));
      FAIL("not refused");
    } catch (const Error& error) {
      const std::string words = as_in_sheet(error.where() + error.problem() + error.remedy());
      CHECK(words.find("--") == std::string::npos);
    }
  }
  CHECK(as_in_sheet("give --rpm-ramp or --rpm") == "give 'Ramp' or 'Held'");
}

TEST_CASE("a case is begun in the window, and its first recording added") {
  const howl::test::ScratchFolder scratch;
  Desk desk{Settings{}};
  const fs::path sound = howl::test::write_sound(
      scratch / "first.wav", bench::tone_in_noise(250, 0.1, 3.5, 1), {.rate = bench::kRate});
  desk.apply(DropFiles{{sound}});
  REQUIRE(desk.state().sheet);
  CHECK(desk.state().sheet->kind == SheetKind::new_case);
  desk.apply(SubmitSheet{});
  CHECK_FALSE(desk.state().sheet->fault.empty());  // nothing is typed yet
  desk.apply(TypeInto{"title", "Whine when cold"});
  desk.apply(SubmitSheet{});
  CHECK(desk.state().sheet->fault.find("vehicle") != std::string::npos);
  desk.apply(TypeInto{"profile", "transverse-four-automatic"});
  desk.apply(TypeInto{"folder", (scratch / "cold").string()});
  desk.apply(SubmitSheet{});
  desk.finish_jobs();
  REQUIRE(desk.state().opened);
  CHECK(desk.state().opened->value.title == "Whine when cold");
  REQUIRE(desk.state().sheet);  // asks about the recording now
  CHECK(desk.state().sheet->kind == SheetKind::add_takes);
  CHECK(desk.state().view.step == Step::record);
  desk.apply(TypeInto{"point", "transmission pan"});
  desk.apply(TypeInto{"rpm", "15oo"});
  desk.apply(SubmitSheet{});
  desk.finish_jobs();
  CHECK(desk.state().sheet->fault.find("15oo") != std::string::npos);
  CHECK(load_case(scratch / "cold").takes.empty());
  desk.apply(TypeInto{"rpm", "1500"});
  desk.apply(SubmitSheet{});
  desk.finish_jobs();
  CHECK_FALSE(desk.state().sheet);
  CHECK(desk.state().notices.empty());
  CHECK(load_case(scratch / "cold").takes.size() == 1);
  CHECK(desk.state().answer);
  CHECK(desk.state().view.selection.take == "t01");
}

TEST_CASE("several recordings are asked about one after another, and what stays is kept") {
  SheetDesk open;
  open.wish(DropFiles{{open.sound("b.wav"), open.sound("a.wav"), open.sound("c.wav")}});
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->sounds.front().filename() == "a.wav");
  open.type("point", "transmission pan");
  open.type("rpm", "1800");
  open.type("load.ac", "on");
  open.type("note", "first");
  open.wish(SubmitSheet{});
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->sounds.front().filename() == "b.wav");
  CHECK(field(open.state().sheet->typed, "rpm") == "1800");
  CHECK(field(open.state().sheet->typed, "note").empty());
  open.wish(SkipSound{});
  open.type("point", "transmission pan");
  open.wish(SubmitSheet{});
  CHECK_FALSE(open.state().sheet);
  CHECK(open.stored().takes.size() == 4);
  CHECK(open.stored().takes.back().original_name == "c.wav");
  // Each is a change of its own; its recording is set aside, not lost.
  open.wish(Undo{});
  open.wish(Undo{});
  CHECK(open.stored().takes.size() == 2);
  CHECK(check_case(open.workshop.folder).empty());
  open.wish(Redo{});
  open.wish(Redo{});
  CHECK(open.stored().takes.size() == 4);
  CHECK(check_case(open.workshop.folder).empty());
}

TEST_CASE("what is known of a take is changed, and the answer with it") {
  SheetDesk open;
  const auto before = open.state().answer;
  open.wish(BeginSheet{.kind = SheetKind::change_take, .take = "t02"});
  REQUIRE(open.state().sheet);
  CHECK(field(open.state().sheet->typed, "rpm") == "1500");
  open.type("rpm", "1600");
  open.wish(SubmitSheet{});
  CHECK_FALSE(open.state().sheet);
  CHECK(std::get<EnteredSpeed>(take_named(open.stored(), "t02").speed).speed.value == 1600);
  CHECK(open.state().answer != before);
  CHECK_FALSE(open.state().answer_outdated);
  open.wish(Undo{});
  CHECK(std::get<EnteredSpeed>(take_named(open.stored(), "t02").speed).speed.value == 1500);
}

TEST_CASE("a take that is taken out comes back with its recording") {
  SheetDesk open;
  const std::string recording = take_named(open.value(), "t02").recording;
  open.wish(PickTake{"t02"});
  open.wish(CompareTake{"t03"});
  open.wish(TakeOut{"t02"});
  CHECK(open.stored().takes.size() == 1);
  CHECK(open.state().view.selection.take != "t02");
  CHECK_FALSE(fs::exists(open.workshop.folder / recording));
  CHECK(check_case(open.workshop.folder).empty());
  open.wish(TakeOut{"t03"});
  CHECK(open.state().view.compared.empty());
  open.wish(Undo{});
  open.wish(Undo{});
  CHECK(fs::exists(open.workshop.folder / recording));
  CHECK(check_case(open.workshop.folder).empty());
  CHECK(open.state().analysis()->takes.size() == 2);
  for (const char* id : {"t01", "t02", "t03", "t04"}) open.wish(TakeOut{id});
  CHECK(open.stored().takes.empty());
  CHECK_FALSE(open.state().answer);
  CHECK(open.state().notices.empty());
}

TEST_CASE("a change of one fact keeps what was noted with it") {
  SheetDesk open;
  update_case(open.workshop.folder, [](Case& value) {
    value.evidence.push_back({.key = "fluid-level",
                              .value = "low",
                              .note = "half a litre",
                              .added = "2026-05-04T10:00:00Z"});
  });
  open.wish(OpenCase{open.workshop.folder});
  open.wish(EnterFact{"fluid-level", "right"});
  REQUIRE(open.stored().evidence.size() == 1);
  CHECK(open.stored().evidence[0].value == "right");
  CHECK(open.stored().evidence[0].note == "half a litre");
}

TEST_CASE("title and what a report says are changed together") {
  SheetDesk open;
  open.wish(BeginSheet{.kind = SheetKind::about});
  open.type("title", "");
  open.wish(SubmitSheet{});
  CHECK_FALSE(open.state().sheet->fault.empty());
  open.type("title", "Howl, made up");
  open.type("complaint", "It howls.\nWorse when cold.");
  open.type("job", "A-17");
  open.wish(SubmitSheet{});
  CHECK_FALSE(open.state().sheet);
  CHECK(open.stored().title == "Howl, made up");
  CHECK(open.stored().about.complaint == "It howls.\nWorse when cold.");
  open.wish(Undo{});
  CHECK(open.stored().title == "Whine, made up");
  CHECK(open.stored().about.job.empty());
}

TEST_CASE("a dropped log goes to the take that is picked") {
  SheetDesk open;
  const fs::path log = open.workshop.scratch / "speed.csv";
  std::ofstream(log) << "time (s),engine speed (rpm)\n0,1500\n1,1500\n2,1501\n3,1500\n4,1500\n";
  open.wish(PickTake{"t01"});
  open.wish(DropFiles{{log}});
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->take == "t01");
  CHECK(field(open.state().sheet->typed, "speed") == "log");
  open.wish(SubmitSheet{});
  CHECK_FALSE(open.state().sheet);
  CHECK(std::holds_alternative<LoggedSpeed>(take_named(open.stored(), "t01").speed));
  // The log stays when something else is changed.
  open.wish(BeginSheet{.kind = SheetKind::change_take, .take = "t01"});
  open.type("note", "steady");
  open.wish(SubmitSheet{});
  CHECK(std::holds_alternative<LoggedSpeed>(take_named(open.stored(), "t01").speed));
  CHECK(take_named(open.stored(), "t01").note == "steady");
  CHECK(check_case(open.workshop.folder).empty());
}

TEST_CASE("what another program wrote meanwhile is not lost by a change") {
  SheetDesk open;
  open.wish(BeginSheet{.kind = SheetKind::change_take, .take = "t01"});
  update_case(open.workshop.folder, [](Case& value) { value.title = "From elsewhere"; });
  open.type("note", "mine");
  open.wish(SubmitSheet{});
  CHECK_FALSE(open.state().sheet->fault.empty());
  CHECK(open.stored().title == "From elsewhere");
  CHECK(take_named(open.stored(), "t01").note.empty());
}

TEST_CASE("sheets are filled in by pressing and looked into by hand") {
  SheetDesk open;
  open.sound("more.wav");
  bench::Stage stage(open.desk);
  open.wish(GoTo{Step::record});
  open.wish(ShowTakes{true});
  stage.frame();
  stage.click("takes.add");
  open.wish(LookInto{open.workshop.scratch / ""});
  stage.frame();
  stage.click("place.more.wav");
  stage.click("sheet.submit");
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->sounds.front().filename() == "more.wav");
  stage.click("sheet.point.steering pump body");
  stage.click("sheet.load.ac");
  stage.click("sheet.speed.Off");
  stage.click("sheet.submit");
  open.desk.finish_jobs();
  const Take take = open.stored().takes.back();
  CHECK(take.point == "steering pump body");
  CHECK(take.load.contains("ac"));
  CHECK(std::holds_alternative<EngineOff>(take.speed));
}

TEST_CASE("while a sheet is open, keys are its own") {
  SheetDesk open;
  open.wish(BeginSheet{.kind = SheetKind::about});
  CHECK_FALSE(wish_of_key("Space", open.state()));
  CHECK_FALSE(wish_of_key("Ctrl+Z", open.state()));
  CHECK(std::holds_alternative<SubmitSheet>(*wish_of_key("Enter", open.state())));
  CHECK(std::holds_alternative<CloseSheet>(*wish_of_key("Escape", open.state())));
}

TEST_CASE("a class sees no sheet, and recordings dropped later come to those before") {
  const bench::Workshop workshop;
  const auto sound = [&](const std::string& name) {
    return howl::test::write_sound(workshop.scratch / name, bench::tone_in_noise(250, 0.1, 2, 1),
                                   {.rate = bench::kRate});
  };
  Desk desk{Settings{}};
  desk.apply(DropFiles{{sound("a.wav")}});
  desk.apply(TypeInto{"title", "Whine"});
  desk.apply(DropFiles{{sound("b.wav")}});
  REQUIRE(desk.state().sheet);
  CHECK(desk.state().sheet->sounds.size() == 2);
  CHECK(field(desk.state().sheet->typed, "title") == "Whine");
  // Another case is opened instead: nothing of that is asked about in it.
  desk.apply(OpenCase{workshop.folder});
  desk.finish_jobs();
  CHECK_FALSE(desk.state().sheet);
  desk.apply(SetClassMode{true});
  desk.apply(BeginSheet{.kind = SheetKind::about});
  CHECK_FALSE(desk.state().sheet);
}

TEST_CASE("a change while another case is being opened does not call that off") {
  SheetDesk open;
  const bench::Workshop other{bench::Extent::two_short_takes};
  open.desk.apply(OpenCase{other.folder});
  open.desk.apply(EnterFact{"fluid-level", "low"});
  open.desk.finish_jobs();
  CHECK(open.stored().evidence.size() == 1);
  CHECK(open.state().opened->folder == other.folder);
  CHECK(open.state().answer);
}

TEST_CASE("a take's sheet is filled in by keys alone") {
  SheetDesk open;
  const fs::path sound = open.sound("keys.wav");
  const auto press = [&](const std::string& key) {
    const auto wish = wish_of_key(key, open.state());
    REQUIRE(wish);
    open.wish(*wish);
  };
  press("Ctrl+T");
  open.wish(LookInto{sound});  // its path is typed
  press("Enter");
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->sounds.size() == 1);
  press("Down");
  for (int i = 0; i < 6; ++i) press("Right");
  CHECK(field(open.state().sheet->typed, "speed") == "off");  // the last
  press("1");
  press("Enter");
  CHECK_FALSE(open.state().sheet);
  const Take take = open.stored().takes.back();
  CHECK(take.original_name == "keys.wav");
  CHECK(take.load.size() == 1);
  CHECK(std::holds_alternative<EngineOff>(take.speed));
}

TEST_CASE("drops never throw away what is filled in, and say so") {
  SheetDesk open;
  const fs::path sound = open.sound("late.wav");
  const auto refused = [&](const fs::path& dropped) {
    const std::size_t told = open.state().notices.size();
    open.wish(DropFiles{{dropped}});
    return open.state().notices.size() == told + 1;
  };
  for (const BeginSheet& sheet : {BeginSheet{.kind = SheetKind::about},
                                  BeginSheet{.kind = SheetKind::change_take, .take = "t01"}}) {
    open.wish(sheet);
    open.type("note", "half filled in");
    CHECK(refused(sound));
    CHECK(refused(open.workshop.folder));
    REQUIRE(open.state().sheet);
    CHECK(field(open.state().sheet->typed, "note") == "half filled in");
    open.wish(CloseSheet{});
  }
  open.wish(SetClassMode{true});
  CHECK(refused(sound));
}

TEST_CASE("a log dropped while recordings are looked for is nobody's") {
  SheetDesk open;
  bench::Stage stage(open.desk);
  const fs::path log = open.workshop.scratch / "speed.csv";
  std::ofstream(log) << "time (s),engine speed (rpm)\n0,1500\n9,1500\n";
  open.wish(BeginSheet{.kind = SheetKind::add_takes});
  open.wish(DropFiles{{log}});
  stage.frame();
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->wanted == Wanted::sounds);
  CHECK(open.state().notices.size() == 1);
  // Without recordings there is nothing else that could be asked.
  open.wish(LookFor{Wanted::nothing});
  CHECK(open.state().sheet->wanted == Wanted::sounds);
  stage.frame();
}

TEST_CASE("sounds dropped while others are chosen come with these; a log goes to the first") {
  SheetDesk open;
  const fs::path a = open.sound("a.wav");
  const fs::path b = open.sound("b.wav");
  const fs::path log = open.workshop.scratch / "speed.csv";
  std::ofstream(log) << "time (s),engine speed (rpm)\n0,1500\n9,1500\n";
  open.wish(BeginSheet{.kind = SheetKind::add_takes});
  open.wish(LookInto{open.workshop.scratch / "."});
  open.wish(ChooseFile{b});
  open.wish(DropFiles{{a, log}});
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->wanted == Wanted::nothing);
  CHECK(open.state().sheet->sounds == std::vector<fs::path>{a, b});
  CHECK(field(open.state().sheet->typed, "log") == log.string());
  CHECK(open.state().notices.empty());
  // The next take is another one: its log is not this one.
  open.wish(SkipSound{});
  CHECK(open.state().sheet->sounds == std::vector<fs::path>{b});
  CHECK(field(open.state().sheet->typed, "log").empty());
  // Now it is not clear of which.
  open.wish(DropFiles{{a, log}});
  CHECK(open.state().notices.size() == 1);
  CHECK(field(open.state().sheet->typed, "log").empty());
}

TEST_CASE("a speed that was to be found in the sound is told when the take is stored") {
  SheetDesk open;
  const fs::path running =
      howl::test::write_sound(open.workshop.scratch / "running.wav",
                              four_cylinders_running(1800.0, 4.0), {.rate = bench::kRate});
  open.wish(BeginSheet{.kind = SheetKind::add_takes, .sounds = {running}});
  open.type("point", "transmission pan");
  open.type("speed", "sound");
  open.wish(SubmitSheet{});
  CHECK_FALSE(open.state().sheet);
  REQUIRE_FALSE(open.state().notices.empty());
  const std::string told = open.state().notices.front().what;
  CAPTURE(told);
  CHECK(told.starts_with("t03: speed found in the sound: 1800 rpm"));
}

TEST_CASE("storing a take waits for no analysis and cannot be called off") {
  SheetDesk open;
  open.wish(BeginSheet{.kind = SheetKind::add_takes, .sounds = {open.sound("more.wav")}});
  open.type("point", "transmission pan");
  open.type("rpm", "1500");
  open.desk.apply(SubmitSheet{});
  CHECK(open.state().sheet->storing);
  for (int id = 0; id < 100; ++id) open.desk.apply(CancelJob{static_cast<JobId>(id)});
  open.desk.finish_jobs();
  CHECK_FALSE(open.state().sheet);
  CHECK(open.stored().takes.back().original_name == "more.wav");
  CHECK(same_case(open.stored(), open.value()));
}

TEST_CASE("undo of an added take takes nothing out that another program wrote") {
  SheetDesk open;
  const std::size_t before = open.value().takes.size();
  const auto add = [&](const std::string& name, const std::string& point) {
    open.wish(BeginSheet{.kind = SheetKind::add_takes, .sounds = {open.sound(name)}});
    open.type("new-point", point);
    open.type("rpm", "1500");
    open.wish(SubmitSheet{});
    REQUIRE_FALSE(open.state().sheet);
  };
  const Case at_first = open.stored();
  add("mine.wav", "a new bracket");
  CHECK(open.value().points.size() == at_first.points.size() + 1);
  open.wish(Undo{});
  CHECK(same_case(open.stored(), at_first));
  open.wish(BeginSheet{.kind = SheetKind::add_takes, .sounds = {open.sound("mine too.wav")}});
  NewTake theirs;
  theirs.recording = open.sound("theirs.wav");
  theirs.take.point = "transmission pan";
  theirs.take.speed = EnteredSpeed{Rpm(1800)};
  add_take(open.workshop.folder, theirs);
  open.type("point", "transmission pan");
  open.type("rpm", "1500");
  open.wish(SubmitSheet{});
  CHECK(open.value().takes.size() == before + 2);
  open.wish(Undo{});
  CHECK(open.stored().takes.size() == before + 2);
}

TEST_CASE("a change that meets another program's reads the case again and keeps what is typed") {
  SheetDesk open;
  for (const BeginSheet& sheet : {BeginSheet{.kind = SheetKind::change_take, .take = "t01"},
                                  BeginSheet{.kind = SheetKind::about}}) {
    open.wish(sheet);
    update_case(open.workshop.folder, [](Case& value) { value.about.job += "elsewhere"; });
    open.type(sheet.take.empty() ? "complaint" : "note", "mine");
    open.wish(SubmitSheet{});
    REQUIRE(open.state().sheet);
    CHECK_FALSE(open.state().sheet->fault.empty());
    CHECK(same_case(open.stored(), open.value()));
    open.wish(SubmitSheet{});
    CHECK_FALSE(open.state().sheet);
  }
  CHECK(take_named(open.stored(), "t01").note == "mine");
  CHECK(open.stored().about.complaint == "mine");
}

TEST_CASE("paths are taken as people type them") {
  CHECK(typed_path("/a/b", "/cases") == "/a/b");
  CHECK(typed_path("b", "/cases") == "/cases/b");
  CHECK(typed_path("~/b", "/cases") == home_or_root() / "b");
  CHECK(typed_path("~", "/cases") == home_or_root());
  CHECK(new_case_folder({{"folder", "van"}, {"title", "Howl"}}, "/cases") == "/cases/van");
  SheetDesk open;
  open.wish(BeginSheet{.kind = SheetKind::open_case});
  open.wish(LookInto{open.workshop.scratch / "."});
  open.wish(LookInto{open.workshop.folder.filename()});
  CHECK(open.state().sheet->place.folder == open.workshop.folder);
}

TEST_CASE("a folder is gone through by keys") {
  SheetDesk open;
  open.sound("a.wav");
  fs::create_directory(open.workshop.scratch / "deep");
  const auto press = [&](const std::string& key) {
    const auto wish = wish_of_key(key, open.state());
    REQUIRE(wish);
    open.wish(*wish);
  };
  open.wish(BeginSheet{.kind = SheetKind::add_takes});
  open.wish(LookInto{open.workshop.scratch / "deep"});
  press("Backspace");
  CHECK(open.state().sheet->place.folder == (open.workshop.scratch / "a").parent_path());
  while (open.state().sheet->pointed != "a.wav") press("Down");
  CHECK(open.state().sheet->pointed == "a.wav");
  press("Enter");
  CHECK(open.state().sheet->chosen.size() == 1);
  press("Ctrl+Enter");
  CHECK(open.state().sheet->wanted == Wanted::nothing);
  CHECK(open.state().sheet->sounds.size() == 1);
  // Arrows choose a point, and unsay a new one.
  open.type("new-point", "elsewhere");
  press("Down");
  CHECK(typed_take(open.state().sheet->typed).new_point == false);
  // What is asked of one take only does not stay for the next.
  CHECK(field(fields_for_next({{"new-point", "bracket"}}), "new-point").empty());
  CHECK(field(fields_for_next({{"point", "bracket"}}), "point").empty());
  CHECK(field(fields_for_next({{"background", "yes"}}), "background").empty());
}

TEST_CASE("a folder that cannot be made is told in the sheet") {
  Desk desk{Settings{}};
  desk.apply(BeginSheet{.kind = SheetKind::new_case});
  desk.apply(TypeInto{"title", "Whine"});
  desk.apply(TypeInto{"profile", std::string(list_profiles().front().name)});
  desk.apply(TypeInto{"folder", "/tmp/" + std::string(300, 'x')});  // no file system takes it
  desk.apply(SubmitSheet{});
  REQUIRE(desk.state().sheet);
  CHECK_FALSE(desk.state().sheet->fault.empty());
}

TEST_CASE("the point of a recording is asked for, each time, whatever is picked") {
  SheetDesk open;
  const fs::path first = open.sound("transmission pan.wav");
  const fs::path second = open.sound("two.wav");
  open.wish(PickPoint{"steering pump body"});
  open.wish(DropFiles{{first, second}});
  REQUIRE(open.state().sheet);
  CHECK(field(open.state().sheet->typed, "point").empty());
  open.type("rpm", "1500");
  open.wish(SubmitSheet{});
  CHECK(open.state().sheet->fault.find("none is chosen yet") != std::string::npos);
  // What its name says is offered, and taken by a press.
  bench::Stage stage(open.desk);
  stage.click("sheet.suggested");
  CHECK(field(open.state().sheet->typed, "point") == "transmission pan");
  open.wish(SubmitSheet{});
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->added == 1);
  CHECK(field(open.state().sheet->typed, "point").empty());
  CHECK(field(open.state().sheet->typed, "rpm") == "1500");
  stage.frames(2);
  CHECK_FALSE(stage.targets.contains("sheet.suggested"));
}

TEST_CASE("demo cases are not made where some are already, and that is told in the sheet") {
  const howl::test::ScratchFolder scratch;
  fs::create_directories(scratch / "howlpoint-demo");
  Desk desk{Settings{}};
  bench::Stage stage(desk);
  stage.click("demo.make");
  desk.finish_jobs();
  REQUIRE(desk.state().sheet);
  desk.apply(LookInto{scratch / ""});
  desk.finish_jobs();
  stage.click("sheet.submit");
  REQUIRE(desk.state().sheet);
  CHECK(desk.state().sheet->fault.find("is there already") != std::string::npos);
  CHECK_FALSE(desk.busy());
}
