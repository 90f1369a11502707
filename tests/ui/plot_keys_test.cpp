#include <doctest/doctest.h>

#include <set>
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
  open.desk.finish_jobs();
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

TEST_CASE("keys walk along the points of a tone, and the cursor is there in every plot") {
  PlotDesk open;
  open.desk.apply(GoTo{Step::pitch});
  open.reach("pitch.plot");
  open.press("Right");  // from nowhere to the slowest point
  const ViewState& now = open.desk.state().view;
  const ToneResult& howl = *strongest_howl(*open.desk.state().analysis());
  REQUIRE(now.selection.tone == howl.id);
  // t03 is the take at 1200 rpm: order 10 lies at 200 Hz.
  CHECK(now.selection.take == "t03");
  REQUIRE(now.sound.cursor_s);
  CHECK(*now.sound.cursor_hz == doctest::Approx(200).epsilon(0.01));
  open.press("Shift+Right", 100);  // t04, 2000 rpm
  CHECK(now.selection.take == "t04");
  CHECK(*now.sound.cursor_hz == doctest::Approx(10 * 2000 / 60.0).epsilon(0.01));
  std::set<double> seen;
  for (int i = 0; i < 400; ++i) {
    seen.insert(*now.sound.cursor_hz + 1e6 * *now.sound.cursor_s);
    open.press("Left");
  }
  CHECK(seen.size() >= 4);  // each of the four takes has its point or more
  CHECK(now.selection.take == "t03");
  CHECK(open.stage.walk.reached() == "pitch.plot");
  // What is shown in 'Listen' goes on from there.
  open.desk.apply(GoTo{Step::listen});
  open.desk.finish_jobs();
  open.reach("sound.map");
  const double before = *open.view().cursor_hz;
  open.press("Shift+Up");
  CHECK(*open.view().cursor_hz > before);
}

TEST_CASE("up and down in the pitch plot go to the tone above or below at the cursor's speed") {
  // Besides order 10 a tone that stays at 900 Hz: above 333 Hz, where order 10 is at 2000 rpm.
  bench::Workshop workshop{bench::Extent::two_short_takes};
  for (const double rpm : {1100.0, 1500.0, 2000.0}) {
    auto sound = bench::tone_in_noise(10 * rpm / 60, 0.2, 3, 1);
    const auto other = bench::tone_in_noise(900, 0.1, 3, 2);
    for (std::size_t i = 0; i < sound.size(); ++i) sound[i] += other[i];
    workshop.record_sound("transmission pan", rpm, sound);
  }
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  const ViewState& now = desk.state().view;
  const auto hz_of_shown = [&] {
    return find_tone(*desk.state().analysis(), *now.selection.tone)->frequency_hz;
  };
  desk.apply(StepTrack{-1});  // from nowhere to the fastest point
  REQUIRE(now.selection.tone);
  const std::string first = *now.selection.tone;
  const double speed_locked = *now.sound.cursor_hz;
  REQUIRE(speed_locked == doctest::Approx(10 * 2000 / 60.0).epsilon(0.02));
  desk.apply(StepTone{1});
  CHECK(now.selection.tone != first);
  CHECK(hz_of_shown().contains(*now.sound.cursor_hz));
  CHECK(*now.sound.cursor_hz == doctest::Approx(900).epsilon(0.02));
  desk.apply(StepTone{1});  // there is none above
  CHECK(*now.sound.cursor_hz == doctest::Approx(900).epsilon(0.02));
  desk.apply(StepTone{-1});
  CHECK(now.selection.tone == first);
  CHECK(*now.sound.cursor_hz == doctest::Approx(speed_locked));
}

TEST_CASE("a press in the pitch plot picks the point there, and the cursor goes to it") {
  PlotDesk open;
  open.desk.apply(GoTo{Step::pitch});
  open.desk.apply(StepTrack{0});
  const ToneResult& howl = *strongest_howl(*open.desk.state().analysis());
  open.desk.apply(SetSound{});
  open.stage.frames(2);
  const Area plot = open.stage.area_of("pitch.plot");
  // Speeds of 1200 … 2000 rpm with 60 rpm about them across, 0 Hz to 1.18 of the highest pitch up.
  const float across = (2000 - 1140) / 920.0F;
  const auto up = static_cast<float>(10 * 2000 / 60.0 / (1.18 * howl.frequency_hz.high));
  open.stage.drag({plot.x + across * plot.w, plot.bottom() - up * plot.h},
                  {plot.x + across * plot.w, plot.bottom() - up * plot.h});
  CHECK(open.desk.state().view.selection.take == "t04");  // the one at 2000 rpm
  REQUIRE(open.view().cursor_hz);
  CHECK(*open.view().cursor_hz == doctest::Approx(10 * 2000 / 60.0).epsilon(0.01));
}

TEST_CASE("the list of keys tells of those of the plots") {
  std::string all;
  for (const KeyHelp& key : key_list()) all += std::string(key.key) + "\n";
  for (const char* key :
       {"Plot: arrows", "Plot: +, −, I, K", "Plot: Ctrl+arrows", "Plot: Enter", "Pitch: arrows"})
    CHECK(all.find(key) != std::string::npos);
}
