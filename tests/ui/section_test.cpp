#include "ui/pictures/section.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <vector>

#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/pictures/take_sound.h"
#include "ui/state/desk.h"
#include "ui/state/shown_sound.h"

using namespace howl;
using namespace howl::desk;

namespace {

constexpr double kStep = 0.1;  // s between columns

/// A map of two rows: row 1 is at −20 dB in the first half of `columns`, at −40 dB in the second.
LevelPyramid two_halves(std::size_t columns) {
  PyramidBuilder builder(2, columns, 1 << 16);
  for (std::size_t c = 0; c < columns; ++c) {
    const float power = c < columns / 2 ? 0.5e-2F : 0.5e-4F;  // of a sine of that level
    builder.push(std::array{0.0F, power});
  }
  LevelPyramid map = builder.finish(2);
  map.time_step = kStep;
  map.row_step = 5;
  return map;
}

double level_in(const LevelPyramid& map, const Interval& time) {
  const PowerSpectrum spectrum = section_spectrum(map, section_columns(map, time));
  REQUIRE(spectrum.power.size() == 2);
  CHECK(spectrum.spacing == 5);
  CHECK(spectrum.power[0] == 0);
  return 10 * std::log10(2 * spectrum.power[1]);
}

struct OpenTakes {
  explicit OpenTakes(bench::Extent extent = bench::Extent::two_short_takes) : workshop(extent) {
    bench::open_on(desk, workshop.folder);
    desk.apply(PickTake{"t01"});
    desk.apply(GoTo{Step::listen});
    desk.finish_jobs();
  }
  const ViewState& view() const { return desk.state().view; }

  bench::Workshop workshop;
  Desk desk{Settings{}};
};

}  // namespace

TEST_CASE("a stretch's spectrum is the mean of its columns, as energy, however long it is") {
  for (const std::size_t columns : {40, 4000}) {
    CAPTURE(columns);
    const LevelPyramid map = two_halves(columns);
    const double all = kStep * static_cast<double>(columns);
    CHECK(level_in(map, {0, 0.45 * all}) == doctest::Approx(-20).epsilon(0.002));
    CHECK(level_in(map, {0.55 * all, all}) == doctest::Approx(-40).epsilon(0.002));
    // Half of 1 and half of a hundredth: 10 lg 0.505 = −2.97 dB.
    CHECK(level_in(map, {0, all}) == doctest::Approx(-22.97).epsilon(0.01));
  }
}

TEST_CASE("a stretch has some columns, and never more than are summed up in a moment") {
  const LevelPyramid map = two_halves(4000);
  for (const Interval time : {Interval{0, 400}, Interval{10.01, 10.02}, Interval{399.99, 400},
                              Interval{500, 600}, Interval{3, 17}}) {
    const SectionColumns columns = section_columns(map, time);
    CHECK(columns.end > columns.first);
    CHECK(columns.end - columns.first <= kMostSectionColumns);
    CHECK(columns.end <= map.levels[columns.level].columns);
  }
  CHECK(section_spectrum(LevelPyramid{}, section_columns(LevelPyramid{}, {0, 1})).power.empty());
}

TEST_CASE(
    "a spectrum is over orders where the speed changes or the map is, unless somebody chose") {
  TakeSound sound;
  sound.seconds = 10;
  sound.orders.emplace();
  DeskState state;
  CHECK_FALSE(spectrum_has_orders(state, sound));
  state.view.sound_plot = SoundPlot::orders;
  CHECK(spectrum_has_orders(state, sound));
  state.view.sound_plot = SoundPlot::spectrogram;
  const std::vector<SpeedPoint> rising{{Seconds(0.0), Rpm(900.0)}, {Seconds(10.0), Rpm(3000.0)}};
  sound.speed = SpeedCurve::through(rising, 0.01);
  CHECK(spectrum_has_orders(state, sound));
  CHECK_FALSE(rpm_of_spectrum(state, sound));
  state.view.sound.cursor_s = 5;  // half way from 900 to 3000 rpm
  CHECK(*rpm_of_spectrum(state, sound) == doctest::Approx(1950));
  state.view.spectrum_orders = false;
  CHECK_FALSE(spectrum_has_orders(state, sound));
  state.view.spectrum_orders = true;
  sound.orders.reset();
  CHECK_FALSE(spectrum_has_orders(state, sound));
}

TEST_CASE(
    "over orders the cursor reads the order under the mouse, and a drag marks a band of orders") {
  OpenTakes open(bench::Extent::three_speeds);
  bench::Stage stage(open.desk);
  open.desk.apply(ShowSoundAs{SoundPlot::spectrum});
  stage.frames(2);
  stage.click("sound.spectrum.over.Orders");
  REQUIRE(open.view().spectrum_orders == true);
  SoundView view;
  view.order = Interval{0, 20};
  open.desk.apply(SetSound{view});
  stage.frames(2);
  const Area plot = stage.area_of("sound.spectrum");
  stage.move_mouse({plot.x + plot.w / 2, plot.y + plot.h / 2});
  stage.frames(2);
  const auto sound = open.desk.sounds().find("t01");
  const auto rpm = rpm_of_spectrum(open.desk.state(), *sound);
  REQUIRE(rpm);
  CHECK(60 * *open.view().sound.cursor_hz / *rpm == doctest::Approx(10).epsilon(0.01));
  stage.click("band.mark");
  stage.drag({plot.x + plot.w * 0.45F, plot.centre().y},
             {plot.x + plot.w * 0.55F, plot.centre().y});
  open.desk.finish_jobs();
  const auto& band = open.desk.state().request.band;
  REQUIRE(band);
  CHECK(band->unit == AnalysisRequest::Band::Unit::order);
  CHECK(band->range.low == doctest::Approx(9).epsilon(0.02));
  CHECK(band->range.high == doctest::Approx(11).epsilon(0.02));
}

TEST_CASE("the frequencies that are looked at stay from take to take, times do not") {
  OpenTakes open;
  SoundView view;
  view.frequency_hz = Interval{200, 400};
  view.order = Interval{8, 12};
  view.time_s = Interval{0.2, 0.4};
  open.desk.apply(SetSound{view});
  open.desk.apply(PickTake{"t02"});
  CHECK(open.view().sound.frequency_hz->low == 200);
  CHECK(open.view().sound.order->high == 12);
  CHECK_FALSE(open.view().sound.time_s);
}

TEST_CASE("a drag over the overview marks a stretch, a drag of that moves it along") {
  OpenTakes open;
  bench::Stage stage(open.desk);
  stage.frames(2);
  const Area overview = stage.area_of("sound.overview");
  const auto at = [&](float share) {
    return ImVec2{overview.x + share * overview.w, overview.centre().y};
  };
  stage.drag(at(0.2F), at(0.5F));
  REQUIRE(open.view().sound.time_s);
  CHECK(open.view().sound.time_s->low == doctest::Approx(0.2).epsilon(0.03));
  CHECK(open.view().sound.time_s->high == doctest::Approx(0.5).epsilon(0.03));
  stage.drag(at(0.35F), at(0.55F));
  CHECK(open.view().sound.time_s->low == doctest::Approx(0.4).epsilon(0.03));
  CHECK(open.view().sound.time_s->width() == doctest::Approx(0.3).epsilon(0.03));
  stage.drag(at(0.9F), at(0.8F));
  CHECK(open.view().sound.time_s->low == doctest::Approx(0.8).epsilon(0.03));
  CHECK(open.view().sound.time_s->width() == doctest::Approx(0.1).epsilon(0.1));
}

TEST_CASE("what keys do has a button: nearer, farther, laid over, undone, copied, before a class") {
  OpenTakes open;
  bench::Stage stage(open.desk);
  stage.click("sound.nearer");
  REQUIRE(open.view().sound.time_s);
  CHECK(open.view().sound.time_s->width() == doctest::Approx(0.6));
  stage.click("sound.farther");
  CHECK(open.view().sound.time_s.value_or(Interval{0, 1}).width() == doctest::Approx(1));
  stage.click("takes.t02.over");
  CHECK(open.view().compared == std::vector<std::string>{"t02"});
  stage.click("takes.t02.over");
  CHECK(open.view().compared.empty());
  open.desk.apply(EnterFact{"fluid-level", "low"});
  open.desk.finish_jobs();
  stage.click("tool.undo");
  open.desk.finish_jobs();
  CHECK(open.desk.state().opened->value.evidence.empty());
  stage.click("tool.redo");
  open.desk.finish_jobs();
  CHECK(open.desk.state().opened->value.evidence.size() == 1);
  stage.click("tool.copy");
  CHECK(ImGui::GetClipboardText() != std::string_view());
  stage.click("tool.class");
  CHECK(open.desk.state().settings.class_mode);
}

TEST_CASE("a short sound's waveform is held sample by sample, a long one's by stretches") {
  Waveform wave(1000);
  std::vector<float> samples(1000, 0.0F);
  samples[500] = 0.5F;
  wave.push(samples);
  wave.finish();
  CHECK(wave.stretch() == 1);
  const auto parts = wave.parts(499, 502, 3);
  CHECK(parts[0].high == 0);
  CHECK(parts[1].high == 16384);  // 0.5 · 32767, rounded
  CHECK(parts[2].high == 0);
  // An hour at 48 kHz is 172.8 million samples: 2^20 stretches need 165 each, hence 256.
  CHECK(Waveform(172'800'000).stretch() == 256);
}

TEST_CASE("the waveform reads time and peak at the cursor, and is looked at nearer by the wheel") {
  OpenTakes open;
  bench::Stage stage(open.desk);
  stage.click("sound.plot.Waveform");
  CHECK(open.view().sound_plot == SoundPlot::waveform);
  const Area plot = stage.area_of("sound.map");
  stage.turn_wheel(plot.centre(), 5);
  REQUIRE(open.view().sound.time_s);
  CHECK(open.view().sound.time_s->width() == doctest::Approx(std::pow(0.8, 5)).epsilon(0.01));
  CHECK(*open.view().sound.cursor_s == doctest::Approx(0.5).epsilon(0.02));
  const Interval near = *open.view().sound.time_s;
  stage.drag(plot.centre(), {plot.centre().x - 0.25F * plot.w, plot.centre().y});
  CHECK(open.view().sound.time_s->low ==
        doctest::Approx(near.low + 0.25 * near.width()).epsilon(0.03));
}
