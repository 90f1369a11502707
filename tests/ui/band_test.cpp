#include <doctest/doctest.h>

#include <fmt/format.h>

#include <cmath>
#include <string>

#include "src/entry/typed_band.h"
#include "src/errors.h"
#include "src/reasoning/diagnose.h"
#include "src/report/analysis_json.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/band_mark.h"
#include "ui/state/desk.h"

using namespace howl;
using namespace howl::desk;
using Unit = AnalysisRequest::Band::Unit;

namespace {

/// Two takes at 1500 rpm, howling at order 10: 250 Hz.
struct BandDesk {
  Desk desk{Settings{}};
  bench::Stage stage{desk};

  explicit BandDesk(const std::filesystem::path& folder) {
    bench::open_on(desk, folder);
    desk.apply(PickTake{"t01"});
    desk.apply(GoTo{Step::listen});
    AdjustSound zoom;
    zoom.view.frequency_hz = Interval{0, 500};
    desk.apply(zoom);
    settle();
  }
  void settle() {
    desk.finish_jobs();
    stage.frames(2);
    desk.finish_jobs();
    stage.frames(2);
  }
  const DeskState& state() const { return desk.state(); }
  std::optional<AnalysisRequest::Band> by_hand() const { return desk.state().request.band; }

  /// A place in the spectrum (across) or in the spectrogram (up) at a frequency of 0 … 500 Hz.
  ImVec2 in_spectrum(double hz) const {
    const Area& box = stage.area_of("sound.spectrum");
    return {box.x + box.w * static_cast<float>(hz / 500), box.y + box.h / 2};
  }
  ImVec2 in_map(double hz) const {
    const Area& box = stage.area_of("sound.map");
    return {box.x + box.w / 2, box.bottom() - box.h * static_cast<float>(hz / 500)};
  }
  void type(const std::string& name, const std::string& text) { desk.apply(TypeInto{name, text}); }
};

}  // namespace

TEST_CASE("a band that is dragged over in the spectrum is what the command line makes of it") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  BandDesk open(workshop.folder);
  open.stage.click("band.mark");
  REQUIRE(open.state().view.mark_band);
  open.stage.drag(open.in_spectrum(300), open.in_spectrum(200));  // from its high end too
  REQUIRE(open.by_hand());
  CHECK(open.by_hand()->unit == Unit::hertz);
  CHECK(open.by_hand()->range.low == doctest::Approx(200).epsilon(0.02));
  CHECK(open.by_hand()->range.high == doctest::Approx(300).epsilon(0.02));
  CHECK(open.by_hand()->range.low == std::round(open.by_hand()->range.low));
  CHECK_FALSE(open.state().view.mark_band);
  CHECK(*open.state().view.sound.frequency_hz == Interval{0, 500});  // nothing was moved along
  open.settle();
  // howlpoint analyse --band LOW:HIGH --json
  const auto request = band_request(
      {.hertz = fmt::format("{}:{}", open.by_hand()->range.low, open.by_hand()->range.high),
       .orders = {}});
  const Case value = load_case(workshop.folder);
  const Analysis told = diagnose(workshop.folder, value, request, [](double, std::string_view) {});
  CHECK(analysis_json(value, *open.state().analysis()) == analysis_json(value, told));
  CHECK(open.state().analysis()->suspect_band->chosen_by_user);
}

TEST_CASE("a band marked in the spectrogram is in Hz, in the order map in orders") {
  BandDesk open(bench::shared_workshop().folder);  // long enough for orders
  open.desk.apply(ArmBandMark{true});
  open.stage.drag(open.in_map(230), open.in_map(270));
  REQUIRE(open.by_hand());
  CHECK(open.by_hand()->range.low == doctest::Approx(230).epsilon(0.02));
  open.settle();
  open.desk.apply(ShowSoundAs{SoundPlot::orders});
  AdjustSound zoom;
  zoom.view.order = Interval{0, 20};
  open.desk.apply(zoom);
  open.settle();
  REQUIRE(open.stage.targets.contains("sound.map.orders"));
  open.desk.apply(ArmBandMark{true});
  open.stage.drag(open.in_map(9.0 * 25), open.in_map(11.0 * 25));  // 20 orders over 500
  CHECK(open.by_hand()->unit == Unit::order);
  CHECK(open.by_hand()->range.high == doctest::Approx(11).epsilon(0.02));
}

TEST_CASE("without the button a drag moves along, with Shift it marks; a press marks nothing") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  BandDesk open(workshop.folder);
  AdjustSound zoom;
  zoom.view.frequency_hz = Interval{100, 300};
  open.desk.apply(zoom);
  open.stage.frames(2);
  open.stage.drag(open.in_spectrum(250), open.in_spectrum(200));
  CHECK_FALSE(open.by_hand());
  CHECK(open.state().view.sound.frequency_hz->low == doctest::Approx(120).epsilon(0.02));
  open.stage.click("band.mark");
  open.stage.drag(open.in_spectrum(250), open.in_spectrum(250));
  CHECK_FALSE(open.by_hand());
  CHECK(open.state().view.mark_band);
  open.stage.press_key("Escape");
  CHECK_FALSE(open.state().view.mark_band);
  ImGui::GetIO().KeyShift = true;
#if IMGUI_VERSION_NUM >= 18700
  ImGui::GetIO().AddKeyEvent(ImGuiMod_Shift, true);
#endif
  open.stage.drag(open.in_spectrum(200), open.in_spectrum(300));
  CHECK(open.by_hand());
}

TEST_CASE("a band is typed by keys, told where it comes from, and given up for the found one") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  BandDesk open(workshop.folder);
  CHECK(band_words(open.state()).ends_with(", found"));
  const std::string found = band_words(open.state());
  open.stage.press_key("F");
  REQUIRE(open.state().sheet);
  open.type("unit", "hz");
  open.type("low", "300");
  open.type("high", "200");
  open.stage.press_key("Enter");
  REQUIRE(open.state().sheet);  // backwards: told, and not taken
  CHECK(open.state().sheet->fault.find("the low end of the band must be below its high end") !=
        std::string::npos);
  CHECK(open.state().sheet->fault.find("--") == std::string::npos);
  CHECK(open.state().sheet->remedy == "write the band 200:300");
  open.type("high", "");
  open.stage.press_key("Enter");
  CHECK(open.state().sheet->fault.find("one is not typed yet") != std::string::npos);
  open.type("low", "200,5");
  open.type("high", "300");
  open.stage.press_key("Enter");
  CHECK(open.state().sheet->remedy.find("200.5") != std::string::npos);
  open.type("low", "200.5");
  open.stage.press_key("Enter");
  CHECK_FALSE(open.state().sheet);
  CHECK(same_band(open.by_hand(), AnalysisRequest::Band{Unit::hertz, {200.5, 300}}));
  open.settle();
  CHECK(band_words(open.state()).ends_with(", set by hand"));
  open.stage.press_key("F");
  open.stage.frame();
  open.stage.click("sheet.found");
  open.settle();
  CHECK_FALSE(open.state().sheet);
  CHECK_FALSE(open.by_hand());
  CHECK(band_words(open.state()) == found);
}

TEST_CASE("undo goes back over a band as over a change of the case, in their order") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  BandDesk open(workshop.folder);
  open.desk.apply(EnterFact{"fluid-level", "low"});
  open.desk.apply(SetBand{AnalysisRequest::Band{Unit::hertz, {200, 300}}});
  open.desk.apply(SetBand{AnalysisRequest::Band{Unit::hertz, {200, 300}}});  // nothing new
  open.desk.apply(SetBand{AnalysisRequest::Band{Unit::order, {9, 11}}});
  open.settle();
  open.stage.press_key("Ctrl+Z");
  open.settle();
  CHECK(open.by_hand()->unit == Unit::hertz);
  CHECK(open.state().analysis()->suspect_band->band.range == Interval{200, 300});
  open.stage.press_key("Ctrl+Z");
  CHECK_FALSE(open.by_hand());
  CHECK(open.state().opened->value.evidence.size() == 1);
  open.stage.press_key("Ctrl+Z");
  CHECK(open.state().opened->value.evidence.empty());
  for (int i = 0; i < 3; ++i) open.stage.press_key("Ctrl+Y");
  CHECK(open.by_hand()->unit == Unit::order);
  CHECK(load_case(workshop.folder).evidence.size() == 1);
  open.settle();
  CHECK(open.state().analysis()->suspect_band->band.unit == Unit::order);
}

TEST_CASE("the ranking offers another band, and a class gives none") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  BandDesk open(workshop.folder);
  open.stage.click("step.where");
  open.stage.click("band.type");
  REQUIRE(open.state().sheet);
  CHECK(open.state().sheet->kind == SheetKind::band);
  open.stage.press_key("Escape");
  open.desk.apply(SetClassMode{true});
  CHECK_FALSE(can_mark_band(open.state()));
  open.desk.apply(ArmBandMark{true});
  CHECK_FALSE(open.state().view.mark_band);
}
