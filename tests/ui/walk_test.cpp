#include "ui/look/walk.h"

#include <doctest/doctest.h>

#include <set>
#include <string>

#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/desk.h"

using namespace howl;
using namespace howl::desk;

namespace {

/// All that Tab reaches, once around.
std::set<std::string> walked(bench::Stage& stage) {
  std::set<std::string> names;
  for (;;) {
    stage.press_key("Tab");
    if (!names.insert(stage.walk.reached()).second) return names;
  }
}

void walk_to(bench::Stage& stage, const std::string& name) {
  const std::string from = stage.walk.reached();
  do {
    stage.press_key("Tab");
    REQUIRE(stage.walk.reached() != from);
  } while (stage.walk.reached() != name);
}

}  // namespace

TEST_CASE("by keys everything is reached that a mouse can press, on every step") {
  const bench::Workshop& workshop = bench::shared_workshop();
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  bench::Stage stage(desk);
  // What moves through the sound has keys of its own.
  const std::set<std::string> places{"sound.overview"};
  for (const Step step : kAllSteps) {
    desk.apply(GoTo{step});
    desk.finish_jobs();
    stage.frames(3);
    CAPTURE(std::string(step_key(step)));
    const std::set<std::string> reached = walked(stage);
    for (const auto& [name, area] : stage.targets) {
      CAPTURE(name);
      if (bench::can_be_pressed(name, area) && !places.contains(name))
        CHECK(reached.contains(name));
    }
    CHECK_FALSE(reached.contains(""));
  }
}

TEST_CASE("what is reached is pressed by Enter, and left by Escape and by the mouse") {
  const bench::Workshop& workshop = bench::shared_workshop();
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  bench::Stage stage(desk);
  stage.frame();
  stage.press_key("Tab");
  const std::string first = stage.walk.reached();
  walk_to(stage, "step.pitch");
  stage.press_key("Enter");
  CHECK(desk.state().view.step == Step::pitch);
  stage.press_key("Shift+Tab");
  stage.press_key("Escape");
  CHECK(stage.walk.reached().empty());
  stage.press_key("Tab");
  CHECK(stage.walk.reached() == first);
  stage.click("step.where");
  CHECK(stage.walk.reached().empty());
}

TEST_CASE("under a sheet nothing is reached, and a field is left as it is entered") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  bench::Stage stage(desk);
  desk.apply(GoTo{Step::record});
  desk.apply(ShowTakes{true});
  desk.apply(BeginSheet{.kind = SheetKind::change_take, .take = "t01"});
  stage.frames(2);
  const std::set<std::string> reached = walked(stage);
  CHECK(reached.contains("sheet.submit"));
  CHECK(reached.contains("sheet.load.ac"));
  CHECK_FALSE(reached.contains("takes.add"));
  walk_to(stage, "sheet.note");
  stage.frames(3);
  CHECK(ImGui::GetIO().WantTextInput);
  ImGui::GetIO().AddInputCharacter('x');
  stage.frames(2);
  CHECK(field(desk.state().sheet->typed, "note") == "x");
  walk_to(stage, "sheet.submit");
  CHECK_FALSE(ImGui::GetIO().WantTextInput);
  stage.press_key("Enter");
  desk.finish_jobs();
  CHECK_FALSE(desk.state().sheet);
  CHECK(load_case(workshop.folder).takes.front().note == "x");
}
