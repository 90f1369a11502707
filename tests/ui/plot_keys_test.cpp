#include <doctest/doctest.h>

#include <string>

#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

/// Take t01: 3.5 s at 1500 rpm, order 10 at 250 Hz; 0 … 500 Hz are shown.
struct PlotDesk {
  Desk desk{Settings{}};
  bench::Stage stage{desk};
  PlotDesk() {
    bench::open_on(desk, bench::shared_workshop().folder);
    desk.apply(PickTake{"t01"});
    desk.apply(PickTone{});
    desk.apply(GoTo{Step::listen});
    AdjustSound zoom;
    zoom.view.frequency_hz = Interval{0, 500};
    desk.apply(zoom);
    desk.finish_jobs();
    stage.frames(2);
  }
  const SoundView& view() const { return desk.state().view.sound; }
  void reach(const std::string& plot) {
    for (int i = 0; i < 200 && stage.walk.reached() != plot; ++i) stage.press_key("Tab");
    REQUIRE(stage.walk.reached() == plot);
  }
  void press(const std::string& key, int times = 1) {
    for (int i = 0; i < times; ++i) stage.press_key(key);
  }
};

}  // namespace

TEST_CASE("keys move the cursor of a plot that Tab has reached") {
  PlotDesk open;
  open.press("Right");  // not reached: it moves through the sound, of which all is shown
  CHECK_FALSE(open.view().cursor_s);
  open.reach("sound.map");
  open.press("Right");
  // From the middle, 1.75 s and 250 Hz, by a hundredth of what is shown.
  CHECK(*open.view().cursor_s == doctest::Approx(1.75 + 0.035));
  CHECK(*open.view().cursor_hz == doctest::Approx(250));
  open.press("Shift+Up");
  CHECK(*open.view().cursor_hz == doctest::Approx(300));
  open.press("Shift+Left", 20);
  CHECK(*open.view().cursor_s == 0);
  CHECK(open.stage.walk.reached() == "sound.map");
  open.press("Escape");
  CHECK(open.stage.walk.reached().empty());
}

TEST_CASE("a plot is looked at from nearer about the cursor, and moved along, by keys") {
  PlotDesk open;
  open.reach("sound.map");
  open.press("Right");
  open.press("+");
  REQUIRE(open.view().time_s);
  CHECK(open.view().time_s->width() == doctest::Approx(0.6 * 3.5));
  open.press("I");
  // 0.6 of 500 Hz about 250 Hz.
  CHECK(open.view().frequency_hz->low == doctest::Approx(100));
  CHECK(open.view().frequency_hz->high == doctest::Approx(400));
  open.press("Ctrl+Up");  // a fifth of 300 Hz
  CHECK(open.view().frequency_hz->low == doctest::Approx(160));
  const double from = open.view().time_s->low;
  open.press("Ctrl+Left");
  CHECK(open.view().time_s->low == doctest::Approx(from - 0.2 * 2.1));
  // The cursor that leaves what is shown takes it along.
  open.press("Shift+Up", 8);
  CHECK(*open.view().cursor_hz > 460);
  CHECK(open.view().frequency_hz->contains(*open.view().cursor_hz));
  open.press("K", 20);
  CHECK(open.view().frequency_hz->low == 0);
}

TEST_CASE("Enter picks the tone at the cursor, or lays an order line through it") {
  PlotDesk open;
  open.reach("sound.map");
  open.press("Right");
  open.press("Enter");
  REQUIRE(open.desk.state().view.selection.tone);
  const ToneResult* const tone =
      find_tone(*open.desk.state().analysis(), *open.desk.state().view.selection.tone);
  CHECK(*tone->order == doctest::Approx(10.0).epsilon(0.01));
  CHECK_FALSE(open.desk.state().view.read_order);
  open.press("Shift+Up", 2);  // 350 Hz: order 60 · 350 / 1500 = 14
  open.press("Enter");
  REQUIRE(open.desk.state().view.read_order);
  CHECK(*open.desk.state().view.read_order == doctest::Approx(14.0).epsilon(0.01));
  // Before a class a hidden tone cannot be picked.
  open.desk.apply(PickTone{});
  open.desk.apply(SetClassMode{true});
  open.stage.frames(2);
  open.reach("sound.map");
  open.press("Shift+Down", 2);
  open.press("Enter");
  CHECK_FALSE(open.desk.state().view.selection.tone);
}

TEST_CASE("the spectrum has its keys, and Space still plays") {
  PlotDesk open;
  open.reach("sound.spectrum");
  open.press("Shift+Right");
  CHECK(*open.view().cursor_hz == doctest::Approx(300));
  CHECK_FALSE(open.view().cursor_s);
  open.press("+");
  // Nearer about 300 Hz: three fifths of the way remain at three fifths.
  CHECK(open.view().frequency_hz->low == doctest::Approx(120));
  CHECK(open.view().frequency_hz->high == doctest::Approx(420));
  open.press("Ctrl+Right");
  CHECK(open.view().frequency_hz->low == doctest::Approx(180));
  open.press("Space");
  CHECK(open.desk.state().listen.fault.find("sound devices") != std::string::npos);
}

TEST_CASE("a mouse that lies still leaves the cursor to the keys") {
  PlotDesk open;
  open.stage.move_mouse(open.stage.area_of("sound.map").centre());
  open.stage.frames(2);
  REQUIRE(open.view().cursor_hz);
  open.reach("sound.map");
  const double before = *open.view().cursor_hz;
  open.press("Shift+Up");
  open.stage.frames(3);
  CHECK(*open.view().cursor_hz == doctest::Approx(before + 50));
}

TEST_CASE("the list of keys tells of those of the plots") {
  std::string all;
  for (const KeyHelp& key : key_list()) all += std::string(key.key) + "\n";
  for (const char* key : {"Plot: arrows", "Plot: +, −, I, K", "Plot: Ctrl+arrows", "Plot: Enter"})
    CHECK(all.find(key) != std::string::npos);
}
