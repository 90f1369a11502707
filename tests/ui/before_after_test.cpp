#include "ui/state/before_after.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>
#include <string>

#include "src/report/comparison_json.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/desk.h"

using namespace howl;
using namespace howl::desk;

namespace {

/// A case with a howl, and another of the same vehicle after its repair, in which nothing howls.
struct RepairedDesk {
  bench::Workshop workshop{bench::Extent::two_short_takes};
  std::filesystem::path after = workshop.scratch / "after";
  Desk desk{Settings{}};
  bench::Stage stage{desk};

  explicit RepairedDesk(const std::string& other_point = "steering pump body") {
    const Case before = load_case(workshop.folder);
    Case value;
    value.title = "After the repair, made up";
    value.profile = before.profile;
    value.cylinders = before.cylinders;
    value.points = before.points;
    create_case(after, value, load_profile(before.profile).toml);
    record("transmission pan", 11);
    record(other_point, 12);
    bench::open_on(desk, after);
    stage.frames(2);
  }
  void record(const std::string& point, std::uint64_t seed) {
    const auto file =
        howl::test::write_sound(workshop.scratch / ("quiet" + std::to_string(seed) + ".wav"),
                                bench::tone_in_noise(250, 0, 1.0, seed), {.rate = bench::kRate});
    NewTake request{.recording = file, .log = std::nullopt, .take = {}};
    request.take.point = point;
    request.take.speed = EnteredSpeed{Rpm(1500)};
    add_take(after, request);
  }
  void compare() {
    desk.apply(CompareWith{workshop.folder});
    settle();
  }
  void settle() {
    desk.finish_jobs();
    stage.frames(2);
  }
  const BeforeAfter& now() const { return desk.state().before_after; }

  /// howlpoint compare BEFORE AFTER --json
  std::string told(const AnalysisRequest& request = {}) const {
    const Comparison comparison =
        compare_cases(workshop.folder, after, {request, {}}, [](double, std::string_view) {});
    return comparison_json(load_case(workshop.folder), load_case(after), comparison);
  }
  std::string shown() const {
    return comparison_json(now().earlier->value, desk.state().opened->value, *now().comparison);
  }
};

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file);
  return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("what the window compares is what the command line says, with a band given too") {
  RepairedDesk open;
  open.compare();
  REQUIRE(open.now().comparison);
  CHECK(open.shown() == open.told());
  CHECK_FALSE(open.now().comparison->tones.empty());
  CHECK(open.now().comparison->places.size() == 2);
  const AnalysisRequest::Band band{AnalysisRequest::Band::Unit::hertz, {200, 300}};
  open.desk.apply(SetBand{band});
  open.settle();
  REQUIRE(open.now().comparison);
  CHECK(open.shown() == open.told({band}));
}

TEST_CASE("a case in which nothing howls is offered the comparison, and the case is chosen there") {
  RepairedDesk open;
  REQUIRE(offers_comparison(open.desk.state()));
  open.stage.click("next.before");
  REQUIRE(open.desk.state().sheet);
  CHECK(open.desk.state().sheet->kind == SheetKind::earlier_case);
  open.settle();
  open.stage.click("place.after");  // itself
  CHECK(open.desk.state().sheet->fault.find("this is the case that is open") != std::string::npos);
  open.stage.click("place.whine");
  CHECK_FALSE(open.desk.state().sheet);
  open.settle();
  CHECK(open.desk.state().view.step == Step::proof);
  CHECK(open.now().comparison);
  CHECK_FALSE(offers_comparison(open.desk.state()));
}

TEST_CASE("by keys too; a folder without a case is told and not taken") {
  RepairedDesk open;
  open.stage.press_key("E");
  REQUIRE(open.desk.state().sheet);
  open.desk.apply(TypeInto{"path", (open.workshop.scratch / "nowhere").string()});
  open.stage.press_key("Ctrl+Enter");
  CHECK(open.desk.state().sheet->fault.find("there is no case in this folder") !=
        std::string::npos);
  open.desk.apply(TypeInto{"path", open.workshop.folder.string()});
  open.stage.press_key("Ctrl+Enter");
  open.settle();
  CHECK(comparison_words(open.desk.state()) ==
        std::string(change_name(open.now().comparison->howl)));
  open.stage.press_key("E");
  CHECK_FALSE(open.desk.state().view.before_after);
}

TEST_CASE("tones and places that are compared can be picked, with their spectra, by keys too") {
  RepairedDesk open;
  open.compare();
  open.settle();
  REQUIRE(open.now().spectra);
  CHECK(open.now().spectra->place == open.now().place);
  const std::size_t other = 1 - open.now().place;
  open.stage.click("places." + std::to_string(other));
  open.settle();
  CHECK(open.now().place == other);
  REQUIRE(open.now().spectra);
  CHECK(open.now().spectra->before.point == open.now().comparison->places[other].point);
  const std::size_t last = open.now().comparison->tones.size() - 1;
  open.desk.apply(PickComparedTone{last});
  CHECK(open.now().tone == last);
  open.desk.apply(PickComparedTone{last + 1});  // there is none
  CHECK(open.now().tone == last);
  std::set<std::string> reached;
  do open.stage.press_key("Tab");
  while (reached.insert(open.stage.walk.reached()).second);
  for (const auto& [name, area] : open.stage.targets)
    if (name != "before.spectrum" && bench::can_be_pressed(name, area)) {
      CAPTURE(name);
      CHECK(reached.contains(name));
    }
  for (const char* name : {"compared.0", "before.choose", "before.leave"})
    CHECK(open.stage.area_of(name).h >= kTouch);
}

TEST_CASE("no pair is said in words, and nothing is claimed") {
  RepairedDesk open("alternator bracket");
  open.desk.apply(TakeOut{"t01"});
  open.settle();
  open.compare();
  REQUIRE(open.now().comparison);
  CHECK(open.now().comparison->places.empty());
  CHECK(open.now().comparison->howl == ToneChange::undetermined);
  CHECK_FALSE(open.now().comparison->verdict.empty());
  CHECK(open.desk.state().steps[7].words == "not proven yet");
  CHECK(open.stage.targets.contains("before.choose"));
}

TEST_CASE("a change of the case is compared anew; what fails is told in the view") {
  RepairedDesk open;
  open.compare();
  open.desk.apply(EnterFact{"fluid-level", "low"});
  CHECK_FALSE(open.now().comparison);
  open.settle();
  CHECK(open.now().comparison);
  std::filesystem::rename(open.workshop.folder / "recordings", open.workshop.folder / "away");
  open.desk.apply(SetBand{AnalysisRequest::Band{AnalysisRequest::Band::Unit::hertz, {200, 300}}});
  open.settle();
  CHECK_FALSE(open.now().comparison);
  CHECK_FALSE(open.now().fault.empty());
  CHECK(comparison_words(open.desk.state()) == "failed");
}

TEST_CASE("the case before is remembered until it is left off") {
  RepairedDesk open;
  open.compare();
  const Settings kept = parse_settings(settings_text(open.desk.state().settings));
  CHECK(earlier_of(kept, open.after.string()) == open.workshop.folder.string());
  CHECK(earlier_of(kept, open.workshop.folder.string()).empty());
  Desk another{kept};
  bench::open_on(another, open.after);
  CHECK(another.state().before_after.folder == open.workshop.folder);
  CHECK_FALSE(another.state().before_after.comparison);  // until somebody looks
  another.apply(ShowBeforeAfter{true});
  another.finish_jobs();
  CHECK(another.state().before_after.comparison);
  open.stage.click("before.leave");
  CHECK(open.now().folder.empty());
  CHECK(earlier_of(open.desk.state().settings, open.after.string()).empty());
}

TEST_CASE("the report that the window writes holds the comparison") {
  RepairedDesk open;
  open.compare();
  open.desk.apply(WriteOut{HandOver::html});
  open.settle();
  REQUIRE(open.desk.state().hand_over.written.size() == 1);
  const std::string report = text_of(open.desk.state().hand_over.written.front());
  CHECK(report.find("Before and after") != std::string::npos);
  CHECK(report.find("Whine, made up") != std::string::npos);
  CHECK(report.find("What became of it") != std::string::npos);
}

TEST_CASE(
    "a comparison that is stopped says so, and one of a case that was closed comes to nothing") {
  RepairedDesk open;
  open.desk.apply(CompareWith{open.workshop.folder});
  REQUIRE(open.now().job);
  open.desk.apply(CancelJob{*open.now().job});
  CHECK(comparison_words(open.desk.state()) == "failed");
  open.settle();
  CHECK_FALSE(open.now().comparison);
  open.desk.apply(CompareWith{open.workshop.folder});
  open.desk.apply(CloseCase{});
  open.settle();
  CHECK(open.now().folder.empty());
  CHECK_FALSE(open.now().comparison);
}

TEST_CASE("where nothing howls the foot of the window takes a band, and the points are compared") {
  RepairedDesk open;
  CHECK(open.desk.state().analysis()->ranking.empty());
  open.stage.click("next.band");
  REQUIRE(open.desk.state().sheet);
  open.desk.apply(TypeInto{"low", "200"});
  open.desk.apply(TypeInto{"high", "300"});
  open.stage.press_key("Enter");
  open.settle();
  CHECK(open.desk.state().analysis()->ranking.size() == 2);
}
