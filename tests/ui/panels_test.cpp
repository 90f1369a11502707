#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/look/frame.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

struct OpenDesk {
  Desk desk{Settings{}};
  OpenDesk() { bench::open_on(desk, bench::shared_workshop().folder); }
  const DeskState& state() const { return desk.state(); }
};

}  // namespace

TEST_CASE("a case that was opened is analysed, and its howl is picked") {
  const OpenDesk open;
  REQUIRE(open.state().answer);
  CHECK(open.state().notices.empty());
  CHECK(open.state().view.step == Step::where);
  REQUIRE(open.state().view.selection.tone);
  const ToneResult* tone =
      find_tone(open.state().answer->analysis, *open.state().view.selection.tone);
  REQUIRE(tone != nullptr);
  CHECK(*tone->order == doctest::Approx(10.0).epsilon(0.01));
  CHECK(open.state().settings.recent.front() == bench::shared_workshop().folder.string());
}

TEST_CASE("a folder without a case is told in words, and what was open stays") {
  OpenDesk open;
  open.desk.apply(OpenCase{bench::shared_workshop().scratch / "nothing here"});
  open.desk.finish_jobs();
  REQUIRE(open.state().notices.size() == 1);
  CHECK(open.state().notices[0].what.find("nothing here") != std::string::npos);
  CHECK_FALSE(open.state().notices[0].remedy.empty());
  CHECK(open.state().opened);
  CHECK(open.state().answer);
  bench::Stage stage(open.desk);
  stage.click("notice.close.0");
  CHECK(open.state().notices.empty());
}

TEST_CASE("every step can be pressed, and is drawn at every size without a fault") {
  OpenDesk open;
  bench::Stage stage(open.desk);
  for (const auto& [width, height, scale] : {std::tuple{960.0F, 600.0F, 1.0},
                                             {1280.0F, 720.0F, 1.0},
                                             {1920.0F, 1080.0F, 2.0},
                                             {3840.0F, 2160.0F, 2.0}}) {
    stage.resize(width, height);
    open.desk.apply(SetScale{scale});
    for (const Step step : kAllSteps) {
      stage.click("step." + std::string(step_key(step)));
      CHECK(open.state().view.step == step);
      const ImVec2 size = ImGui::GetIO().DisplaySize;
      for (const char* name : {"next.how", "case.close", "tool.theme"}) {
        const Area& area = stage.area_of(name);
        CHECK(area.right() <= size.x);
        CHECK(area.bottom() <= size.y);
      }
    }
  }
}

TEST_CASE("what is pressed most is large enough for a gloved hand") {
  OpenDesk open;
  bench::Stage stage(open.desk);
  stage.frames(2);
  for (const auto& [name, area] : stage.targets) {
    const bool main = name.starts_with("step.") || name.starts_with("next.") ||
                      name.starts_with("case.") || name.starts_with("rank.");
    if (!main) continue;
    CAPTURE(name);
    CHECK(area.h >= kTouch);
    CHECK(area.w >= kTouch);
  }
}

TEST_CASE("a point picked in the ranking is picked on the sketch, and the reverse") {
  OpenDesk open;
  bench::Stage stage(open.desk);
  stage.click("rank.steering pump body");
  CHECK(open.state().view.selection.point == "steering pump body");
  stage.frame();
  REQUIRE(stage.targets.contains("spot.steering pump body"));  // its view came to the front
  stage.click("rank.transmission pan");
  stage.frame();
  stage.click("spot.transmission pan");
  CHECK(open.state().view.selection.point == "transmission pan");
}

TEST_CASE("a tone picked in the table is picked everywhere") {
  OpenDesk open;
  bench::Stage stage(open.desk);
  stage.click("step.pitch");
  const auto& tones = open.state().answer->analysis.tones;
  REQUIRE(!tones.empty());
  open.desk.apply(PickTone{});
  stage.click("tones." + tones.front().id);
  CHECK(open.state().view.selection.tone == tones.front().id);
}

TEST_CASE("a take that is picked shows its sound, from tiles that jobs painted") {
  OpenDesk open;
  bench::Stage stage(open.desk);
  stage.click("step.listen");
  stage.click("takes.t02");
  CHECK(open.state().view.selection.take == "t02");
  CHECK(open.state().view.selection.point == "steering pump body");
  open.desk.finish_jobs();
  stage.frames(2);
  open.desk.finish_jobs();
  stage.frames(2);
  CHECK(stage.textures.made > 0);
  CHECK(open.desk.sounds().tiles().nothing_wanted());
  REQUIRE(stage.targets.contains("sound.map"));
}

TEST_CASE("the wheel looks nearer at the sound, dragging moves along, one press shows all") {
  OpenDesk open;
  bench::Stage stage(open.desk);
  stage.click("step.listen");
  open.desk.finish_jobs();
  stage.frames(2);
  const Area map = stage.area_of("sound.map");
  stage.turn_wheel(map.centre(), 5);
  REQUIRE(open.state().view.sound.time_s);
  const Interval near = *open.state().view.sound.time_s;
  CHECK(near.width() == doctest::Approx(3.5 * std::pow(0.8, 5)).epsilon(0.01));
  CHECK(0.5 * (near.low + near.high) == doctest::Approx(1.75).epsilon(0.02));
  const ImVec2 from{map.x + map.w * 0.5F, map.y + map.h * 0.2F};
  stage.drag(from, {from.x - map.w * 0.25F, from.y});
  CHECK(open.state().view.sound.time_s->low ==
        doctest::Approx(near.low + 0.25 * near.width()).epsilon(0.03));
  stage.click("sound.whole");
  CHECK_FALSE(open.state().view.sound.time_s);
}

TEST_CASE("the line of the picked tone can be dragged to read another order") {
  OpenDesk open;
  bench::Stage stage(open.desk);
  open.desk.apply(PickTake{"t01"});  // 1500 rpm: order 10 at 250 Hz
  stage.click("step.listen");
  AdjustSound zoom;
  zoom.view.frequency_hz = Interval{0, 500};
  open.desk.apply(zoom);
  open.desk.finish_jobs();
  stage.frames(2);
  const Area map = stage.area_of("sound.map");
  const auto at = [&](double hz) {
    return ImVec2{map.x + map.w / 2, map.bottom() - map.h * static_cast<float>(hz / 500)};
  };
  stage.drag(at(250), at(375));
  REQUIRE(open.state().view.read_order);
  CHECK(*open.state().view.read_order == doctest::Approx(15.0).epsilon(0.02));  // 60·375/1500
  CHECK_FALSE(open.state().view.line_grabbed);
}

TEST_CASE("the next test is browsed, told in full with its cautions, and closed again") {
  OpenDesk open;
  bench::Stage stage(open.desk);
  REQUIRE(open.state().answer->analysis.verdict.next_tests.size() > 1);
  stage.click("next.next");
  CHECK(open.state().view.next_test == 1);
  stage.click("next.how");
  CHECK(open.state().view.cautions_shown);
  CHECK(stage.targets.contains("next.details"));
  stage.click("next.how");
  CHECK_FALSE(open.state().view.cautions_shown);
}

TEST_CASE("without a case the window offers those opened before") {
  Settings settings;
  remember_case(settings, bench::shared_workshop().folder.string());
  Desk desk(settings);
  bench::Stage stage(desk);
  stage.click("recent.0");
  desk.finish_jobs();
  CHECK(desk.state().opened);
  CHECK(desk.state().answer);
}

TEST_CASE("a band that somebody chooses is analysed anew") {
  OpenDesk open;
  open.desk.apply(SetBand{AnalysisRequest::Band{AnalysisRequest::Band::Unit::hertz, {600, 900}}});
  open.desk.finish_jobs();
  REQUIRE(open.state().answer->analysis.suspect_band);
  CHECK(open.state().answer->analysis.suspect_band->chosen_by_user);
}
