#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numbers>
#include <string>
#include <vector>

#include "src/demo/demo_truth.h"
#include "src/errors.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/keys.h"
#include "ui/state/lesson.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

struct ClassDesk {
  Desk desk{Settings{}};
  ClassDesk() {
    desk.apply(SetClassMode{true});
    bench::open_on(desk, bench::shared_workshop().folder);
  }
  const DeskState& state() const { return desk.state(); }
  void press(std::string_view key) {
    const auto wish = wish_of_key(key, state());
    REQUIRE(wish);
    desk.apply(*wish);
  }
};

Analysis suspecting(const std::string& source, const std::string& component, double probability) {
  Analysis analysis;
  analysis.verdict.suspects = {{source, component, probability, {}, {}},
                               {"water pump bearing", "water pump", 0.03, {}, {}}};
  return analysis;
}

const DemoTruth kPump{.recipe = "made-up",
                      .component = "steering pump",
                      .fault = "low fluid",
                      .suspect = "steering pump vanes",
                      .behaviour = "speed-locked",
                      .loudest_point = "steering pump body"};

using Kind = AnswerCheck::Kind;

}  // namespace

TEST_CASE("an answer is held against the truth, whichever way it comes out") {
  const auto right = check_answer(suspecting("steering pump vanes", "steering pump", 0.95), kPump);
  CHECK(right.kind == Kind::agrees);
  CHECK(right.chance_of_truth == doctest::Approx(0.95));
  CHECK(right.judgement == "The program names the true one.");
  CHECK(right.truth == "In truth: steering pump, low fluid.");

  const auto unsure = check_answer(suspecting("steering pump vanes", "steering pump", 0.6), kPump);
  CHECK(unsure.kind == Kind::agrees);
  CHECK(unsure.judgement.find("not sure") != std::string::npos);

  const auto part = check_answer(suspecting("steering pump bearing", "steering pump", 0.9), kPump);
  CHECK(part.kind == Kind::part_agrees);
  CHECK(part.chance_of_truth == 0);

  DemoTruth bearing = kPump;
  bearing.suspect = "water pump bearing";
  bearing.component = "water pump";
  const auto wrong = check_answer(suspecting("steering pump vanes", "steering pump", 0.9), bearing);
  CHECK(wrong.kind == Kind::differs);
  CHECK(wrong.chance_of_truth == doctest::Approx(0.03));
  CHECK(wrong.judgement.find("3 %") != std::string::npos);
}

TEST_CASE("no suspect, no truth and no fault are told as what they are") {
  CHECK(check_answer(Analysis{}, kPump).kind == Kind::no_suspect);
  CHECK(check_answer(suspecting("", "something not in this profile", 0.9), kPump).kind ==
        Kind::differs);
  CHECK(check_answer(suspecting("idler bearing", "idler", 0.9), std::nullopt).kind ==
        Kind::truth_unknown);
  DemoTruth mended = kPump;
  mended.repaired = true;
  CHECK(check_answer(suspecting("steering pump vanes", "steering pump", 0.9), mended).kind ==
        Kind::mended);
}

TEST_CASE("a truth of before suspects were named in it is compared by its part") {
  DemoTruth old = kPump;
  old.suspect.clear();
  CHECK(check_answer(suspecting("steering pump bearing", "steering pump", 0.9), old).kind ==
        Kind::agrees);
  CHECK(check_answer(suspecting("idler bearing", "idler", 0.9), old).kind == Kind::differs);
}

TEST_CASE("truth.json is read where there is one; one that says nothing is an error") {
  const howl::test::ScratchFolder scratch;
  CHECK_FALSE(read_demo_truth(scratch / ""));
  std::ofstream(scratch / "truth.json")
      << R"({"component": "alternator", "fault": "worn", "suspect": null})";
  const auto truth = read_demo_truth(scratch / "");
  REQUIRE(truth);
  CHECK(truth->component == "alternator");
  CHECK(truth->suspect.empty());
  CHECK_FALSE(truth->repaired);
  for (const char* text : {"", "[]", "{}", "{\"component\": 3}"}) {
    std::ofstream(scratch / "truth.json") << text;
    CHECK_THROWS_AS(read_demo_truth(scratch / ""), Error);
  }
}

TEST_CASE("a case opens before a class at its first step, the answer hidden") {
  ClassDesk room;
  CHECK(room.state().view.step == Step::complaint);
  CHECK(is_answer_hidden(room.state()));
  for (const Step step : kAllSteps) {
    CHECK(room.state().view.step == step);
    if (step != kAllSteps.back()) room.press("Enter");
  }
  room.press("A");
  CHECK_FALSE(is_answer_hidden(room.state()));
  room.press("A");
  CHECK(is_answer_hidden(room.state()));
}

TEST_CASE("out of class nothing is hidden, and the keys of the class do nothing") {
  ClassDesk room;
  room.desk.apply(SetClassMode{false});
  CHECK_FALSE(is_answer_hidden(room.state()));
  CHECK_FALSE(wish_of_key("A", room.state()));
  CHECK_FALSE(wish_of_key("Enter", room.state()));
}

TEST_CASE("a class sees no point's name in the ranking before it is shown the answer") {
  ClassDesk room;
  bench::Stage stage(room.desk);
  room.desk.apply(GoTo{Step::where});
  stage.frames(2);
  CHECK(stage.targets.contains("rank.point A"));
  CHECK_FALSE(stage.targets.contains("rank.transmission pan"));
  CHECK_FALSE(stage.targets.contains("next.how"));  // what to do next tells of the suspects
  stage.click("class.answer");
  CHECK(stage.targets.contains("rank.transmission pan"));
  CHECK_FALSE(stage.targets.contains("rank.point A"));
  CHECK(stage.targets.contains("class.check"));
  stage.click("class.answer");
  CHECK_FALSE(stage.targets.contains("rank.transmission pan"));
}

TEST_CASE("a class is led on and back by large buttons, at every size") {
  ClassDesk room;
  bench::Stage stage(room.desk);
  for (const auto& [width, height, scale] :
       {std::tuple{1280.0F, 720.0F, 1.0}, {1920.0F, 1080.0F, 1.0}, {3840.0F, 2160.0F, 2.0}}) {
    stage.resize(width, height);
    room.desk.apply(SetScale{scale});
    room.desk.apply(GoTo{Step::complaint});
    for (const bool shown : {false, true}) {
      room.desk.apply(ShowAnswer{shown});
      for (std::size_t i = 1; i < kSteps; ++i) stage.click("class.next");
      CHECK(room.state().view.step == kAllSteps.back());
      for (std::size_t i = 1; i < kSteps; ++i) stage.click("class.back");
      CHECK(room.state().view.step == Step::complaint);
    }
    for (const char* name : {"class.next", "class.back", "class.answer", "class.leave"}) {
      const Area& area = stage.area_of(name);
      CHECK(area.h >= kTouch * static_cast<float>(scale));
      CHECK(area.w >= kTouch * static_cast<float>(scale));
      CHECK(area.right() <= width);
      CHECK(area.bottom() <= height);
    }
  }
  stage.click("class.leave");
  CHECK_FALSE(room.state().settings.class_mode);
  CHECK(stage.targets.contains("next.how"));
}

TEST_CASE("each step says what to see in it, in two sentences or three") {
  for (const Step step : kAllSteps) {
    const std::string_view text = lesson_of(step);
    CHECK(text.size() > 60);
    CHECK(text.size() < 240);
    const auto ends = std::ranges::count_if(text, [](char c) { return c == '.' || c == '?'; });
    CHECK(ends >= 1);
    CHECK(ends <= 3);
  }
}

TEST_CASE("an order line can be laid through the cursor without a tone to take hold of") {
  ClassDesk room;
  room.desk.apply(PickTake{"t01"});
  room.desk.finish_jobs();
  SoundView view;
  view.cursor_s = 1.0;
  view.cursor_hz = 200;
  room.desk.apply(AdjustSound{view});
  room.press("O");
  REQUIRE(room.state().view.read_order);
  // 200 Hz at 1500 rpm, 25 turns a second: order 8.
  CHECK(*room.state().view.read_order == doctest::Approx(8.0).epsilon(0.001));
}

namespace {

/// A sweep from 1000 to 2000 rpm with a howl of order 10, as the last take.
void add_sweep(bench::Workshop& workshop) {
  constexpr double seconds = 8;
  std::vector<double> samples(static_cast<std::size_t>(seconds * bench::kRate));
  Random random(7);
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double t = static_cast<double>(i) / bench::kRate;
    const double turns = (1000 * t + 1000 * t * t / (2 * seconds)) / 60;
    samples[i] = 0.2 * std::sin(2 * std::numbers::pi * 10 * turns) + 0.002 * draw_normal(random);
  }
  const auto file =
      howl::test::write_sound(workshop.scratch / "sweep.wav", samples, {.rate = bench::kRate});
  NewTake request{.recording = file, .log = std::nullopt, .take = {}};
  request.take.point = "transmission pan";
  request.take.speed = EnteredRamp{{{Seconds(0), Rpm(1000)}, {Seconds(seconds), Rpm(2000)}}};
  add_take(workshop.folder, request);
}

}  // namespace

TEST_CASE("before a class neither the take that opens nor a count tells where to look") {
  bench::Workshop workshop;
  add_sweep(workshop);
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  CHECK(desk.state().view.selection.take == "t05");  // shows the howl best
  desk.apply(CloseCase{});
  desk.apply(SetClassMode{true});
  bench::open_on(desk, workshop.folder);
  CHECK(desk.state().view.selection.take == "t02");  // by its point's name the first
}

TEST_CASE("a class is not told by the player at what order the tone lies, or how loud a point is") {
  ClassDesk room;
  room.desk.apply(PickTake{"t01"});
  const auto has_digit = [](const std::string& words) {
    return std::ranges::any_of(words, [](char c) { return c >= '0' && c <= '9'; });
  };
  room.desk.apply(HearAs{Heard::tone});
  CHECK(heard_words(room.state()) == "the tone alone");
  room.desk.apply(HearAs{Heard::without});
  CHECK(heard_words(room.state()) == "all but the tone");
  room.desk.apply(ReadOrder{11.0});
  CHECK_FALSE(has_digit(heard_words(room.state())));
  room.desk.apply(ReadOrder{});
  room.desk.apply(ShowAnswer{true});
  CHECK(has_digit(heard_words(room.state())));

  DeskState state;
  state.listen.other = "t02";
  state.listen.match_db = 7.8;
  for (const bool matched : {true, false}) {
    state.listen.matched = matched;
    state.settings.class_mode = false;
    CHECK(playing_words(state).find("7.8 dB") != std::string::npos);
    state.settings.class_mode = true;
    CHECK(playing_words(state).find("dB") == std::string::npos);
  }
}

TEST_CASE("a class sees takes by point and speed, so that none leads to where it is loud") {
  ClassDesk room;
  const std::vector<std::string> by_name{"t02", "t03", "t01", "t04"};
  CHECK(listed_takes(room.state()) == by_name);
  bench::Stage stage(room.desk);
  for (const Step step : {Step::record, Step::listen}) {
    room.desk.apply(GoTo{step});
    stage.frames(2);
    for (std::size_t i = 1; i < by_name.size(); ++i)
      CHECK(stage.area_of("takes." + by_name[i]).y > stage.area_of("takes." + by_name[i - 1]).y);
  }
  room.desk.apply(PickTake{"t02"});
  room.press("Down");
  CHECK(room.state().view.selection.take == "t03");
  room.desk.apply(ShowAnswer{true});
  CHECK(room.state().view.selection.take == "t03");  // what is picked stays
  CHECK(listed_takes(room.state()).front() == "t01");
}

TEST_CASE("a class sees the tests by name, none of them picked out") {
  ClassDesk room;
  bench::Stage stage(room.desk);
  room.desk.apply(GoTo{Step::proof});
  stage.frames(2);
  const auto& tests = room.state().analysis()->verdict.next_tests;
  REQUIRE_FALSE(std::ranges::is_sorted(tests, {}, &NextTest::test));
  std::vector<std::pair<float, std::string>> seen;
  for (std::size_t i = 0; i < tests.size(); ++i)
    seen.emplace_back(stage.area_of("test." + std::to_string(i)).y, tests[i].test);
  std::ranges::sort(seen);
  CHECK(std::ranges::is_sorted(seen, {}, &std::pair<float, std::string>::second));
  const std::size_t first = listed_tests(room.state()).front();
  const std::size_t before = room.state().view.next_test;
  stage.click("test." + std::to_string(first));
  CHECK(room.state().view.next_test == before);
  room.desk.apply(ShowAnswer{true});
  CHECK(listed_tests(room.state()).front() == 0);
}

TEST_CASE("a class compares with the points by their names, not with the loudest first") {
  bench::Workshop workshop{bench::Extent::two_short_takes};
  workshop.record("engine block front", 1500, 0.05);
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  desk.apply(PickTake{"t02"});
  CHECK(takes_at_same_speed(desk.state()) == std::vector<std::string>{"t01", "t03"});
  desk.apply(SetClassMode{true});
  CHECK(takes_at_same_speed(desk.state()) == std::vector<std::string>{"t03", "t01"});
}
