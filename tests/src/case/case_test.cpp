#include "src/case/case.h"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <nlohmann/json.hpp>
#include <thread>

#include "src/case/case_json.h"
#include "src/case/take_rules.h"
#include "src/errors.h"
#include "src/files/folder_lock.h"
#include "src/keeping/add_take.h"
#include "src/keeping/check_case.h"
#include "tests/src/limited_disk.h"
#include "tests/src/scratch_folder.h"

using namespace howl;
using namespace howl::test;
using nlohmann::json;

namespace {

const std::string some_hash(64, 'a');

Take take_with(const std::string& id, SpeedSource speed) {
  Take take;
  take.id = id;
  take.point = "bell housing";
  take.recording = "recordings/" + id + "-Motor läuft.wav";
  take.original_name = "Motor läuft.wav";
  take.sha256 = some_hash;
  take.sample_rate = 44100.0;
  take.frames = 441'000;
  take.channels = 3;
  take.channel = 2;
  take.speed = std::move(speed);
  take.added = "2024-05-01T12:00:00Z";
  return take;
}

Case full_case() {
  Case value;
  value.title = "Whine from 1500 rpm, \"louder\" with the wheel turned — 2. Gang";
  value.profile = "blank-four-stroke";
  value.created = "2024-05-01T12:00:00Z";
  value.cylinders = 4;
  value.points = {{.name = "bell housing",
                   .description = "upper bolt",
                   .place = SketchPlace{SketchPlace::View::front, 0.5, 0.25}},
                  {.name = "idler bolt", .description = ""}};
  value.takes = {
      take_with("t01", EnteredSpeed{1726.25_rpm}),
      take_with("t02", EnteredRamp{{{0.0_s, 800.0_rpm}, {9.5_s, 3000.0_rpm}}}),
      take_with("t03", LoggedSpeed{.log = "logs/t03-log.csv", .sha256 = some_hash}),
      take_with("t04", TachoSpeed{.channel = 3, .pulses_per_revolution = 0.5}),
      take_with("t05", EngineOff{}),
  };
  value.takes[0].reference_channel = 1;
  value.takes[0].load = {{"steering", "left stop"}, {"ac", "on"}};
  value.takes[0].road_speed_kmh = 0.0;
  value.takes[2].background = true;
  value.takes[0].note = "second try\nwith tape";
  value.evidence = {
      {.key = "fluid-level", .value = "low", .note = "", .added = "2024-05-01T12:10:00Z"},
      {.key = "no-such-fact", .value = "blue", .note = "kept", .added = ""}};
  return value;
}

/// case.json of full_case() after `change`, and the complaint about it.
template <class Change>
Error refusal_after(Change change) {
  json value = json::parse(json_of_case(full_case()));
  change(value);
  try {
    case_of_json(value.dump(), "case.json");
  } catch (const Error& error) {
    return error;
  }
  return {Fault::command, "", "accepted", ""};
}

template <class Act>
Error error_of(Act act) {
  try {
    act();
  } catch (const Error& error) {
    return error;
  }
  return {Fault::command, "", "no error", ""};
}

}  // namespace

TEST_CASE("a case comes back from its text as it was") {
  const std::string text = json_of_case(full_case());
  const Case read = case_of_json(text, "case.json");
  CHECK(json_of_case(read) == text);
  CHECK(read.points[0].place == full_case().points[0].place);
  CHECK_FALSE(read.points[1].place);
  CHECK(read.takes[0].load == full_case().takes[0].load);
  CHECK(read.takes[0].road_speed_kmh == 0.0);
  CHECK_FALSE(read.takes[1].road_speed_kmh);
  CHECK_FALSE(read.takes[1].reference_channel);
  CHECK(std::get<EnteredSpeed>(read.takes[0].speed).speed == 1726.25_rpm);
  CHECK(std::holds_alternative<EngineOff>(read.takes[4].speed));
  CHECK(read.takes[2].background);
  CHECK_FALSE(read.takes[0].background);
  CHECK(std::get<EnteredRamp>(read.takes[1].speed).points[1].speed == 3000.0_rpm);
  CHECK(std::get<LoggedSpeed>(read.takes[2].speed).log == "logs/t03-log.csv");
  CHECK(std::get<TachoSpeed>(read.takes[3].speed).pulses_per_revolution == 0.5);
  REQUIRE(read.evidence.size() == 2);
  CHECK(read.evidence[0].value == "low");
  CHECK(read.evidence[0].added == "2024-05-01T12:10:00Z");
  CHECK(read.evidence[1].key == "no-such-fact");
  CHECK(read.evidence[1].note == "kept");
  CHECK_FALSE(read.profile_sha256);
}

TEST_CASE("the text of case.json names its schema and version") {
  const json value = json::parse(json_of_case(full_case()));
  CHECK(value["schema"] == "howlpoint.case/1");
  CHECK(value["version"] == 1);
}

TEST_CASE("unknown fields of the same version are passed over; null means not known") {
  CHECK(refusal_after([](json& v) {
          v["colour"] = "blue";
          v["takes"][0]["weather"] = json::array({1, 2});
          v["cylinders"] = nullptr;
        }).problem() == "accepted");
}

TEST_CASE("every fault in case.json is refused with its place") {
  const auto check = [](const Error& error, const char* problem) {
    CHECK(error.fault() == Fault::file);
    CHECK(error.where() == "case.json");
    CHECK(error.problem() == problem);
    CHECK_FALSE(error.remedy().empty());
  };
  check(refusal_after([](json& v) { v.erase("takes"); }), "the whole has no field 'takes'");
  check(refusal_after([](json& v) { v["takes"] = 3; }), "takes is not a list");
  check(refusal_after([](json& v) { v["takes"][1] = "t02"; }), "takes[1] is not an object");
  check(refusal_after([](json& v) { v["takes"][1]["id"] = "t01"; }), "takes[1] repeats 't01'");
  check(refusal_after([](json& v) { v["takes"][0]["frames"] = 1.5; }),
        "takes[0].frames is not a whole number");
  check(refusal_after([](json& v) { v["takes"][0]["frames"] = 18446744073709551615ULL; }),
        "takes[0].frames is not within 1 to 1125899906842624");
  check(refusal_after([](json& v) { v["takes"][0]["channel"] = 4; }),
        "takes[0].channel is not within 1 to 3");
  check(refusal_after([](json& v) { v["takes"][0]["speed"]["rpm"] = "fast"; }),
        "takes[0].speed.rpm is not a number");
  check(refusal_after([](json& v) { v["takes"][0]["background"] = "yes"; }),
        "takes[0].background is neither true nor false");
  check(refusal_after([](json& v) { v["takes"][0]["speed"]["rpm"] = 0; }),
        "takes[0].speed.rpm is not above 0 rpm");
  check(refusal_after([](json& v) { v["takes"][0]["speed"]["source"] = "guess"; }),
        "takes[0].speed.source is none of entered, ramp, logged, tacho, sound, engine off");
  check(refusal_after([](json& v) { v["takes"][1]["speed"]["points"][1]["seconds"] = 0; }),
        "takes[1].speed.points[1].seconds does not come after the one before");
  check(refusal_after([](json& v) { v["takes"][1]["speed"]["points"] = json::array(); }),
        "takes[1].speed.points is empty");
  check(refusal_after([](json& v) { v["takes"][0]["sha256"] = "12"; }),
        "takes[0].sha256 is not 64 lower-case hexadecimal digits");
  check(refusal_after([](json& v) { v["takes"][0]["load"]["ac"] = 1; }),
        "takes[0].load.ac is not text");
  check(refusal_after([](json& v) { v["points"][1]["name"] = "bell housing"; }),
        "points[1] repeats 'bell housing'");
  check(refusal_after([](json& v) { v["points"][0]["place"]["view"] = "side"; }),
        "points[0].place.view is none of below, above, front");
  check(refusal_after([](json& v) { v["points"][0]["place"]["x"] = 2; }),
        "points[0].place.x is not within 0 to 1");
  check(refusal_after([](json& v) { v["evidence"] = "low"; }), "evidence is not a list");
  check(refusal_after([](json& v) { v["evidence"][1]["key"] = "fluid-level"; }),
        "evidence[1] repeats 'fluid-level'");
  check(refusal_after([](json& v) { v["evidence"][0]["value"] = ""; }),
        "evidence[0].value is empty");
  check(refusal_after([](json& v) { v["evidence"][0].erase("key"); }),
        "evidence[0] has no field 'key'");
  check(refusal_after([](json& v) { v["profile_sha256"] = "12"; }),
        "profile_sha256 is not 64 lower-case hexadecimal digits");
  check(refusal_after([](json& v) { v = json::array(); }), "the whole is not an object");
}

TEST_CASE("where a case file is damaged is told by line and column, in our own words") {
  const auto problem_of = [](std::string_view text) {
    return error_of([&] { case_of_json(text, "case.json"); }).problem();
  };
  CHECK(problem_of("{\"schema\": ") == "breaks off at line 1, column 12");
  CHECK(problem_of("") == "breaks off at line 1, column 1");
  CHECK(problem_of("{\n \"ä\": 1 \"b\": 2}") == "is damaged at line 2, column 11");
  CHECK(problem_of("{\"takes\": 1e999}") == "holds a number that cannot be");
}

TEST_CASE("paths that lead out of the case are refused") {
  for (const char* path : {"/etc/passwd", "../other/recordings/t01.wav", "recordings/../../x.wav",
                           "recordings/..", ".."}) {
    CAPTURE(path);
    CHECK_FALSE(leads_inside(path));
    CHECK(refusal_after([&](json& v) { v["takes"][0]["recording"] = path; }).problem() ==
          "takes[0].recording leads out of the case folder");
    CHECK(refusal_after([&](json& v) { v["takes"][2]["speed"]["log"] = path; }).problem() ==
          "takes[2].speed.log leads out of the case folder");
  }
  CHECK(leads_inside("recordings/t01-..wav"));
  CHECK_FALSE(leads_inside(std::string_view("a\0b", 3)));
}

TEST_CASE("a case of before evidence and profile were kept still loads") {
  json value = json::parse(json_of_case(full_case()));
  value.erase("evidence");
  const Case read = case_of_json(value.dump(), "case.json");
  CHECK(read.evidence.empty());
  CHECK_FALSE(read.profile_sha256);
}

TEST_CASE("a case keeps its profile, and the check tells when it was changed or lost") {
  const ScratchFolder folder;
  Case value = full_case();
  value.takes.clear();
  create_case(folder.path(), value, "name = \"mine\"\n");
  CHECK(content_of(folder / "profile.toml") == "name = \"mine\"\n");
  CHECK(load_case(folder.path()).profile_sha256);
  CHECK(check_case(folder.path()).empty());
  write_text(folder / "profile.toml", "name = \"other\"\n");
  REQUIRE(check_case(folder.path()).size() == 1);
  CHECK(check_case(folder.path())[0].problem == "was changed since the case was made");
  std::filesystem::remove(folder / "profile.toml");
  REQUIRE(check_case(folder.path()).size() == 1);
  CHECK(check_case(folder.path())[0].where == (folder / "profile.toml").string());
}

TEST_CASE("a profile in the folder is never overwritten by a new case") {
  const ScratchFolder folder;
  write_text(folder / "profile.toml", "name = \"mine\"\n");
  const Error error = error_of([&] { create_case(folder.path(), full_case(), "name = \"x\"\n"); });
  CHECK(error.problem() == "is there already, and is another profile");
  CHECK(content_of(folder / "profile.toml") == "name = \"mine\"\n");
  create_case(folder.path(), full_case(), "name = \"mine\"\n");
  CHECK(load_case(folder.path()).profile_sha256);
}

TEST_CASE("a case of a newer version is refused, and nothing is changed") {
  const ScratchFolder folder;
  create_case(folder.path(), full_case());
  json value = json::parse(content_of(folder / "case.json"));
  value["schema"] = "howlpoint.case/2";
  value["version"] = 2;
  value["takes"] = "something else altogether";
  const std::string newer = value.dump();
  write_text(folder / "case.json", newer);
  const auto check = [&](const Error& error) {
    CHECK(error.fault() == Fault::file);
    CHECK(error.problem() == "was written by a newer program (case version 2; this one knows 1)");
    CHECK(content_of(folder / "case.json") == newer);
  };
  check(error_of([&] { load_case(folder.path()); }));
  check(error_of([&] { save_case(folder.path(), full_case()); }));
  check(error_of([&] {
    add_take(folder.path(),
             {.recording = "x.wav", .log = {}, .take = take_with("", EnteredSpeed{800.0_rpm})});
  }));
  CHECK(refusal_after([](json& v) { v["version"] = 2; }).problem().find("newer") !=
        std::string::npos);
  CHECK(refusal_after([](json& v) { v["schema"] = "howlpoint.case/10"; }).problem().find("newer") !=
        std::string::npos);
  CHECK(refusal_after([](json& v) { v["schema"] = "howlpoint.analysis/1"; }).problem() ==
        "schema is not that of a case");
}

TEST_CASE("a case is made, loaded, changed and saved, in a folder with any name") {
  const ScratchFolder scratch;
  const auto folder = scratch / "Fälle/騒音 №1";
  create_case(folder, full_case());
  CHECK(json_of_case(load_case(folder)) == json_of_case(full_case()));
  update_case(folder, [](Case& value) { value.title = "other"; });
  CHECK(load_case(folder).title == "other");
  CHECK_FALSE(std::filesystem::exists(folder / "case.json.tmp"));

  const Error again = error_of([&] { create_case(folder, full_case()); });
  CHECK(again.problem() == "holds a case already");
  CHECK(load_case(folder).title == "other");
}

TEST_CASE("folders without a case are told apart") {
  const ScratchFolder scratch;
  CHECK(error_of([&] { load_case(scratch / "none"); }).problem() == "there is no such folder");
  CHECK(error_of([&] { load_case(scratch.path()); }).problem() ==
        "holds no case (there is no case.json in it)");
  const auto file = write_text(scratch / "file", "text");
  CHECK_THROWS_AS(load_case(file), Error);
  CHECK_THROWS_AS(create_case(file, full_case()), Error);
  CHECK_THROWS_AS(create_case(file / "below", full_case()), Error);
  CHECK(content_of(file) == "text");
}

TEST_CASE("a case that could not be read again is not written") {
  const ScratchFolder folder;
  create_case(folder.path(), full_case());
  const std::string before = content_of(folder / "case.json");
  Case broken = full_case();
  std::get<EnteredSpeed>(broken.takes[0].speed).speed = Rpm(-1.0);
  CHECK_THROWS_AS(save_case(folder.path(), broken), Error);
  broken = full_case();
  broken.takes[0].recording = "../x.wav";
  CHECK_THROWS_AS(save_case(folder.path(), broken), Error);
  CHECK(content_of(folder / "case.json") == before);
}

TEST_CASE("a full disk leaves the old case and no temporary file") {
  const ScratchFolder folder;
  create_case(folder.path(), full_case());
  const std::string before = content_of(folder / "case.json");
  Case larger = full_case();
  larger.title = std::string(100'000, 'x');
  const LimitedFileSize limit(20'000);
  const Error error = error_of([&] { save_case(folder.path(), larger); });
  CHECK(error.fault() == Fault::machine);
  CHECK(error.problem().starts_with("cannot be written"));
  CHECK(content_of(folder / "case.json") == before);
  CHECK_FALSE(std::filesystem::exists(folder / "case.json.tmp"));
}

TEST_CASE("a new case that cannot be written leaves no folder") {
  const ScratchFolder scratch;
  Case large = full_case();
  large.title = std::string(100'000, 'x');
  const LimitedFileSize limit(20'000);
  CHECK_THROWS_AS(create_case(scratch / "new", large), Error);
  CHECK_FALSE(std::filesystem::exists(scratch / "new"));
}

TEST_CASE("a case that another program holds says so, and waits for it") {
  const ScratchFolder folder;
  create_case(folder.path(), full_case());
  {
    const FolderLock held(folder.path());
    const Error error = error_of([&] { FolderLock(folder.path(), std::chrono::milliseconds(50)); });
    CHECK(error.fault() == Fault::machine);
    CHECK(error.problem() == "another program is writing to this case at the moment");
  }
  auto held = std::make_unique<FolderLock>(folder.path());
  std::thread other([&] {
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
    held.reset();
  });
  update_case(folder.path(), [](Case& value) { value.title = "after waiting"; });
  other.join();
  CHECK(load_case(folder.path()).title == "after waiting");
}

TEST_CASE("ten processes that change a case at once lose nothing") {
  const ScratchFolder folder;
  Case value = full_case();
  value.points.clear();
  value.takes.clear();
  create_case(folder.path(), value);
  std::vector<pid_t> children;
  for (int i = 0; i < 10; ++i) {
    const pid_t child = fork();
    if (child == 0) {
      try {
        update_case(folder.path(), [&](Case& c) {
          c.points.push_back({.name = "point " + std::to_string(i), .description = ""});
        });
      } catch (...) {
        _exit(1);
      }
      _exit(0);
    }
    children.push_back(child);
  }
  for (const pid_t child : children) {
    int status = 0;
    waitpid(child, &status, 0);
    CHECK(status == 0);
  }
  CHECK(load_case(folder.path()).points.size() == 10);
}

TEST_CASE("text that is not UTF-8 does not stop a save") {
  Case value = full_case();
  value.takes[0].original_name = "Motor l\xE4uft.wav";
  CHECK(case_of_json(json_of_case(value), "case.json").takes[0].original_name ==
        "Motor l\xEF\xBF\xBDuft.wav");
}

TEST_CASE("file names are made harmless") {
  CHECK(sanitised_name("bell housing 1.wav") == "bell_housing_1.wav");
  CHECK(sanitised_name("Motor läuft 速度.wav") == "Motor_läuft_速度.wav");
  CHECK(sanitised_name("a/b\\c:d*e?.wav") == "a_b_c_d_e_.wav");
  CHECK(sanitised_name("l\xE4uft.wav") == "l_uft.wav");
  CHECK(sanitised_name("line\nbreak\x7F.wav") == "line_break_.wav");
  CHECK(sanitised_name("\xC0\xAF.wav") == "_.wav");  // an overlong "/"
  CHECK(sanitised_name("") == "_");
  const std::string long_name = sanitised_name(std::string(300, 'x') + ".wav");
  CHECK(long_name.size() == 80);
  CHECK(long_name.ends_with("x.wav"));
  std::string umlauts;
  for (int i = 0; i < 100; ++i) umlauts += "ä";
  CHECK(sanitised_name(umlauts + ".wav").size() == 80);
  CHECK(sanitised_name("x" + umlauts + ".wav").size() == 79);
}
