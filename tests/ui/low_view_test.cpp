#include <doctest/doctest.h>

#include <array>
#include <filesystem>
#include <string>
#include <tuple>

#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/desk.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

/// Of a window in which there may be little room.
struct Room {
  float width{};
  float height{};
  double scale{};
};
constexpr std::array<Room, 4> kRooms{
    {{960, 600, 1}, {1280, 720, 1}, {1920, 1080, 2}, {1920, 1080, 1}}};

/// A plot that is lower than this, in layout units, is no view.
constexpr float kLeastPlot = 80;

bool apart(const Area& a, const Area& b) {
  return a.right() <= b.x || b.right() <= a.x || a.bottom() <= b.y || b.bottom() <= a.y;
}

struct LowDesk {
  Desk desk{Settings{}};
  explicit LowDesk(const std::filesystem::path& folder = bench::shared_workshop().folder) {
    bench::open_on(desk, folder);
  }
  /// Each size, at the desk and before a class with the answer hidden and shown.
  template <typename Check>
  void everywhere(const Check& check) {
    bench::Stage stage(desk);
    for (const Room& room : kRooms)
      for (const int kind : {0, 1, 2}) {
        stage.resize(room.width, room.height);
        desk.apply(SetScale{room.scale});
        desk.apply(SetClassMode{kind > 0});
        desk.apply(ShowAnswer{kind == 2});
        CAPTURE(room.width);
        CAPTURE(room.scale);
        CAPTURE(kind);
        check(stage, unit_of(desk.state().settings));
      }
  }
};

}  // namespace

TEST_CASE("the sound's plots have a height at every size, and each is one press away") {
  LowDesk low;
  low.desk.apply(PickTake{"t01"});
  low.desk.finish_jobs();
  low.everywhere([&](bench::Stage& stage, float unit) {
    low.desk.apply(GoTo{Step::listen});
    low.desk.apply(ShowSoundAs{SoundPlot::spectrogram});
    stage.frames(2);
    CHECK(stage.area_of("sound.map").h >= kLeastPlot * unit);
    stage.click("sound.plot.Spectrum");
    CHECK(stage.area_of("sound.spectrum").h >= kLeastPlot * unit);
    CHECK_FALSE(stage.targets.contains("sound.map"));
    // The takes, two points and the player, at once or by a switch.
    for (const auto& [target, part] :
         {std::pair{"takes.t01", "part.Takes"}, std::pair{"play.against", "part.A and B"},
          std::pair{"play", "part.Player"}}) {
      if (!stage.targets.contains(target)) stage.click(part);
      CAPTURE(target);
      CHECK(stage.targets.contains(target));
    }
  });
}

TEST_CASE("a note that is written lies over nothing") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  LowDesk low;
  bench::open_on(low.desk, workshop.folder);
  low.desk.apply(PickTake{"t01"});
  low.desk.finish_jobs();
  SoundView view;
  view.cursor_s = 0.5;
  view.cursor_hz = 250;
  low.desk.apply(AdjustSound{view});
  low.desk.apply(PinHere{});
  REQUIRE(low.desk.state().opened->pins.size() == 1);
  low.everywhere([&](bench::Stage& stage, float unit) {
    low.desk.apply(GoTo{Step::listen});
    low.desk.apply(ShowSoundAs{SoundPlot::spectrogram});
    low.desk.apply(PickPin{0});
    stage.frames(2);
    const Area editor = stage.area_of("pin.editor");
    for (const auto& [name, area] : stage.targets) {
      if (name.starts_with("pin.") || name == "keys.behind") continue;
      CAPTURE(name);
      // Rows that are scrolled out of sight lie anywhere.
      if (!name.starts_with("takes.")) CHECK(apart(editor, area));
    }
    CHECK(stage.area_of("sound.map").h >= kLeastPlot * unit);
  });
}

TEST_CASE("ranking and sketch can be seen at every size") {
  LowDesk low;
  low.everywhere([&](bench::Stage& stage, float) {
    low.desk.apply(GoTo{Step::where});
    low.desk.apply(ShowPart{Step::where, 0});
    stage.frames(2);
    const bool hidden = is_answer_hidden(low.desk.state());
    CHECK(stage.targets.contains(hidden ? "rank.point A" : "rank.transmission pan"));
    if (stage.targets.contains("part.On the vehicle")) stage.click("part.On the vehicle");
    CHECK(stage.targets.contains("spot.transmission pan"));
  });
}

TEST_CASE("of a low view of the pitch its plot has most") {
  LowDesk low;
  low.everywhere([&](bench::Stage& stage, float unit) {
    low.desk.apply(GoTo{Step::pitch});
    stage.frames(2);
    const bool lowest = ImGui::GetIO().DisplaySize.y < 500 * unit;
    CHECK(stage.area_of("pitch.plot").h >= (lowest ? 80 : 120) * unit);
    if (is_answer_hidden(low.desk.state())) return;
    // What was found is told at once, or by the switch.
    if (stage.targets.contains("part.In words")) stage.click("part.In words");
    low.desk.apply(ShowPart{Step::pitch, 0});
  });
}

TEST_CASE("every part of a switch is large enough for a gloved hand") {
  LowDesk low;
  bench::Stage stage(low.desk);
  for (const Step step : {Step::record, Step::listen}) {
    low.desk.apply(GoTo{step});
    stage.frames(2);
    for (const auto& [name, area] : stage.targets)
      if (name.starts_with("sound.plot.") || name.starts_with("play.") ||
          name.starts_with("record.side.")) {
        CAPTURE(name);
        CHECK(area.h >= kTouch);
      }
  }
}

TEST_CASE("a notice covers nothing; one that is no fault goes by itself") {
  LowDesk low;
  low.desk.apply(OpenCase{bench::shared_workshop().scratch / "nothing here"});
  low.desk.finish_jobs();
  REQUIRE(low.desk.state().notices.size() == 1);
  bench::Stage stage(low.desk);
  for (const Step step : {Step::where, Step::complaint, Step::record}) {
    low.desk.apply(GoTo{step});
    stage.frames(2);
    const Area close = stage.area_of("notice.close.0");
    for (const auto& [name, area] : stage.targets) {
      CAPTURE(name);
      if (name != "notice.close.0" && !name.starts_with("takes.")) CHECK(apart(close, area));
    }
  }
  stage.seconds = 100;  // a fault stays until somebody has read it
  stage.frames(2);
  CHECK(low.desk.state().notices.size() == 1);
  stage.press_key("Escape");
  CHECK(low.desk.state().notices.empty());

  low.desk.apply(AgeNotices{0});  // nothing to do
  CHECK_FALSE(notices_age(low.desk.state().notices, 0));
  std::vector<Notice> notices{{Notice::Kind::note, "written", "", {}}};
  CHECK(notices_age(notices, 100));  // from now on its time runs
  notices[0].shown_at = 100;
  CHECK_FALSE(notices_age(notices, 100 + kNoteSeconds - 1));
  CHECK(notices_age(notices, 100 + kNoteSeconds));
}

TEST_CASE("a note is shown for its time by the window's clock") {
  LowDesk low;
  bench::Stage stage(low.desk);
  stage.seconds = 50;
  low.desk.apply(GoTo{Step::where});
  low.desk.apply(SavePicture{});
  low.desk.finish_jobs();
  REQUIRE(low.desk.state().notices.size() == 1);
  REQUIRE(low.desk.state().notices[0].kind == Notice::Kind::note);
  stage.frames(2);
  stage.seconds = 50 + kNoteSeconds - 1;
  stage.frames(2);
  CHECK(low.desk.state().notices.size() == 1);
  stage.seconds = 50 + kNoteSeconds;
  stage.frames(2);
  CHECK(low.desk.state().notices.empty());
}

TEST_CASE("where nothing howls the sketch still shows what was recorded") {
  const bench::Workshop workshop{bench::Extent::two_without_howl};
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  REQUIRE(desk.state().answer);
  REQUIRE(desk.state().answer->analysis.ranking.empty());
  bench::Stage stage(desk);
  for (const Step step : {Step::where, Step::what}) {
    desk.apply(GoTo{step});
    stage.frames(2);
    CHECK(stage.targets.contains("spot.transmission pan"));
  }
}

TEST_CASE("names on the sketch lie over nothing that can be pressed, at every size") {
  const bench::Workshop workshop{bench::Extent::two_without_howl};  // every point is named
  LowDesk low(workshop.folder);
  low.everywhere([&](bench::Stage& stage, float) {
    for (const Step step : {Step::points, Step::where, Step::what}) {
      low.desk.apply(GoTo{step});
      low.desk.apply(ShowPart{step, 0});
      stage.frames(2);
      if (stage.targets.contains("part.On the vehicle")) stage.click("part.On the vehicle");
      for (const auto& [name, area] : stage.targets)
        if (name.starts_with("spot."))
          for (const auto& [other, place] : stage.targets) {
            if (other.starts_with("spot.")) continue;
            CAPTURE(name);
            CAPTURE(other);
            CHECK(apart(area, place));
          }
    }
  });
}

TEST_CASE("beside the sound's plots there is always room to give a band") {
  LowDesk low;
  low.desk.apply(PickTake{"t01"});
  low.desk.finish_jobs();
  low.everywhere([&](bench::Stage& stage, float unit) {
    low.desk.apply(GoTo{Step::listen});
    stage.frames(2);
    if (low.desk.state().settings.class_mode) return;
    CHECK(stage.area_of("band.type").w >= kTouch * unit);
    CHECK(apart(stage.area_of("band.type"), stage.area_of("sound.whole")));
  });
}
