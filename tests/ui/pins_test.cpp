#include <doctest/doctest.h>

#include <fstream>
#include <string>

#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/keys.h"
#include "ui/state/pins.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

/// A case of its own for each test: notes are written beside it.
struct PinDesk {
  bench::Workshop workshop;
  Desk desk{Settings{}};
  PinDesk() {
    bench::open_on(desk, workshop.folder);
    desk.apply(PickTake{"t01"});
    desk.apply(GoTo{Step::listen});
    desk.finish_jobs();
    put_cursor(1.0, 250);
  }
  const DeskState& state() const { return desk.state(); }
  const std::vector<PinnedNote>& pins() const { return state().opened->pins; }
  void put_cursor(double seconds, double hz) {
    SoundView view;
    view.cursor_s = seconds;
    view.cursor_hz = hz;
    desk.apply(AdjustSound{view});
  }
  void press(std::string_view key) {
    const auto wish = wish_of_key(key, state());
    REQUIRE(wish);
    desk.apply(*wish);
  }
  std::vector<PinnedNote> kept() const { return load_pinned_notes(workshop.folder); }
};

}  // namespace

TEST_CASE("a note is pinned at the cursor, written, and kept beside the case") {
  PinDesk open;
  open.press("P");
  REQUIRE(open.pins().size() == 1);
  CHECK(open.pins()[0].take == "t01");
  CHECK(open.pins()[0].time_s == 1.0);
  CHECK(open.pins()[0].frequency_hz == 250.0);
  CHECK(open.state().view.pin == 0);
  CHECK(open.state().view.write_pin);
  open.desk.apply(WritePin{0, "the howl"});
  CHECK(open.kept() == open.pins());

  Desk again{Settings{}};
  bench::open_on(again, open.workshop.folder);
  REQUIRE(again.state().opened->pins.size() == 1);
  CHECK(again.state().opened->pins[0].text == "the howl");
}

TEST_CASE("a note pinned in an order map stays at its order") {
  PinDesk open;
  open.desk.apply(ShowSoundAs{SoundPlot::orders});
  open.press("P");
  REQUIRE(open.pins().size() == 1);
  // 250 Hz at 1500 rpm, 25 turns a second: order 10.
  CHECK(*open.pins()[0].order == doctest::Approx(10.0).epsilon(0.001));
  CHECK_FALSE(open.pins()[0].frequency_hz);
}

TEST_CASE("notes are moved, dropped, and all of it is taken back") {
  PinDesk open;
  open.press("P");
  open.put_cursor(2.0, 400);
  open.press("Ctrl+P");
  CHECK(open.pins()[0].time_s == 2.0);
  CHECK(open.pins()[0].frequency_hz == 400.0);
  open.press("Delete");
  CHECK(open.pins().empty());
  CHECK(open.kept().empty());
  open.press("U");
  REQUIRE(open.pins().size() == 1);
  CHECK(open.pins()[0].time_s == 2.0);
  open.press("U");
  CHECK(open.pins()[0].time_s == 1.0);
  open.press("U");
  CHECK(open.pins().empty());
  open.press("U");  // nothing is left to take back
  CHECK(open.pins().empty());
}

TEST_CASE("only notes of the take that is looked at are shown, one after another") {
  PinDesk open;
  open.press("P");
  open.press("P");
  open.desk.apply(PickTake{"t02"});
  open.desk.finish_jobs();
  open.put_cursor(1.0, 100);
  open.press("P");
  CHECK(shown_pins(open.state()) == std::vector<std::size_t>{2});
  open.desk.apply(PickTake{"t01"});
  CHECK(shown_pins(open.state()) == std::vector<std::size_t>{0, 1});
  open.desk.apply(PickPin{});
  open.press("J");
  CHECK(open.state().view.pin == 0);
  open.press("J");
  CHECK(open.state().view.pin == 1);
  open.press("J");
  CHECK(open.state().view.pin == 0);
  open.press("Ctrl+H");
  CHECK(shown_pins(open.state()).empty());
  CHECK_FALSE(open.state().view.pin);
}

TEST_CASE("without a cursor nothing is pinned, and a long text is cut at a whole character") {
  PinDesk open;
  open.desk.apply(SetSound{});
  open.press("P");
  CHECK(open.pins().empty());
  open.put_cursor(1, 250);
  open.press("P");
  std::string text(PinnedNote::longest - 1, 'x');
  open.desk.apply(WritePin{0, text + "ü"});  // two bytes, of which one has room
  CHECK(open.pins()[0].text == text);
}

TEST_CASE("notes that cannot be read are told, and not written over") {
  PinDesk open;
  const auto file = open.workshop.folder / "notes.json";
  std::ofstream(file) << "mine";
  bench::open_on(open.desk, open.workshop.folder);
  REQUIRE(open.state().notices.size() == 1);
  CHECK(open.state().notices[0].what.find("notes.json") != std::string::npos);
  open.desk.apply(PickTake{"t01"});
  open.desk.finish_jobs();
  open.put_cursor(1, 250);
  open.desk.apply(PinHere{});
  CHECK(open.pins().empty());
  CHECK(howl::test::content_of(file) == "mine");
}

TEST_CASE("a pin is picked, dragged, written and dropped by the mouse") {
  PinDesk open;
  bench::Stage stage(open.desk);
  open.desk.apply(PinHere{});
  open.desk.apply(PickPin{});
  stage.frames(3);
  stage.click("pin.1");
  CHECK(open.state().view.pin == 0);
  stage.frame();
  CHECK(stage.targets.contains("pin.text"));

  const ImVec2 from = stage.area_of("pin.1").centre();
  stage.drag(from, {from.x + 60, from.y - 20});
  CHECK(open.pins()[0].time_s > 1.0);
  CHECK(*open.pins()[0].frequency_hz > 250.0);
  stage.frame();
  CHECK(stage.area_of("pin.1").centre().x == doctest::Approx(from.x + 60).epsilon(0.01));

  stage.click("pin.undo");
  CHECK(open.pins()[0].time_s == 1.0);
  open.desk.apply(PickPin{0});
  stage.click("pin.drop");
  CHECK(open.pins().empty());
}

TEST_CASE("a pin's text is typed, and kept when typing ends") {
  PinDesk open;
  bench::Stage stage(open.desk);
  open.desk.apply(PinHere{});
  stage.frames(3);  // the field has the keyboard
  CHECK_FALSE(open.state().view.write_pin);
  for (const char letter : std::string("vanes")) {
    ImGui::GetIO().AddInputCharacter(static_cast<unsigned>(letter));
    stage.frame();
  }
  CHECK(open.pins()[0].text.empty());  // not before it ends
  stage.click("sound.map");
  stage.frames(2);
  REQUIRE(open.pins().size() == 1);
  CHECK(open.pins()[0].text == "vanes");
  CHECK(open.kept()[0].text == "vanes");
}

TEST_CASE("a long note stands beside its number wherever it is pinned, and in the plot") {
  PinDesk open;
  open.desk.apply(SetClassMode{true});
  bench::Stage stage(open.desk);
  open.desk.apply(GoTo{Step::listen});
  std::string text;
  while (text.size() < 250) text += "the howl climbs with the engine ";
  for (const double seconds : {0.05, 1.7, 3.45}) {
    open.put_cursor(seconds, 250);
    open.press("P");
    open.desk.apply(WritePin{open.pins().size() - 1, text});
    stage.frames(3);
    const std::string number = std::to_string(open.pins().size());
    REQUIRE(stage.targets.contains("words.pin." + number));
    const Area words = stage.area_of("words.pin." + number);
    const ImVec2 pin = stage.area_of("pin." + number).centre();
    const float radius = 11 * unit_of(open.state().settings);
    CHECK((words.x >= pin.x + radius || words.right() <= pin.x - radius));
    const Area& plot = stage.area_of("sound.map");
    CHECK(words.x >= plot.x);
    CHECK(words.right() <= plot.right());
    CHECK(words.y >= plot.y);
    CHECK(words.bottom() <= plot.bottom());
  }
}
