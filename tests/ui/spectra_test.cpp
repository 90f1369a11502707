#include "ui/pictures/spectra.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/state/desk.h"

using namespace howl;
using namespace howl::desk;

namespace {

/// One line at 100 Hz: a sine of 0 dB re full scale has a mean square of one half.
PowerSpectrum one_line(double db) {
  return {.spacing = 100,
          .window = WindowKind::hann,
          .noise_bandwidth_bins = 1.5,
          .effective_averages = 10,
          .power = {0, 0.5 * std::pow(10.0, db / 10), 0}};
}

}  // namespace

TEST_CASE("each level at the cursor is told with its take, and their difference with both") {
  const PowerSpectrum loud = one_line(-22.1);
  const PowerSpectrum faint = one_line(-29.2);
  const std::vector<NamedSpectrum> both{{"t01", "pan", &loud, 1500}, {"t02", "pump", &faint, 1500}};
  CHECK(levels_at(both, 101, false) == "t01 −22.1 dB · t02 −29.2 dB");
  CHECK(levels_at(both, 101, true) == "t01 −22.1 dB · t02 −29.2 dB · t01 − t02 7.1 dB");
  CHECK(levels_at(std::span(both).first(1), 101, true) == "−22.1 dB");
}

TEST_CASE("speeds that differ, or change, are told where spectra in Hz are compared") {
  const PowerSpectrum some = one_line(-20);
  std::vector<NamedSpectrum> both{{"t01", "pan", &some, 1500}, {"t02", "pan", &some, 1510}};
  CHECK(unlike_words(both).empty());
  both[1].rpm = 2200;
  CHECK(unlike_words(both) == "speeds differ, 1500 and 2200 rpm: in Hz this is not like for like");
  both[1].rpm.reset();
  CHECK(unlike_words(both).starts_with("t02 has no one speed"));
}

TEST_CASE("a spectrum is kept by a key, another laid over it, and the difference shown") {
  const bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  desk.apply(PickTake{"t01"});
  desk.apply(GoTo{Step::listen});
  desk.finish_jobs();
  bench::Stage stage(desk);
  stage.frames(2);
  CHECK_FALSE(stage.targets.contains("sound.spectrum.way.Difference"));
  stage.press_key("V");
  stage.press_key("Down");
  desk.finish_jobs();
  stage.frames(2);
  CHECK(desk.state().view.selection.take == "t02");
  CHECK(desk.state().view.compared == std::vector<std::string>{"t01"});
  const Area& way = stage.area_of("sound.spectrum.way.Difference");
  CHECK(way.h >= kTouch - 6);  // within a choice of 44
  stage.click("sound.spectrum.way.Difference");
  CHECK(desk.state().view.difference);
  // Howls of 0.2 and 0.05: 20 lg 4 = 12.04 dB, at 250 Hz.
  const auto first = desk.sounds().find("t02");
  const auto second = desk.sounds().find("t01");
  REQUIRE(first);
  REQUIRE(second);
  const SpectrumDifference difference(first->spectrum, second->spectrum);
  const auto line = static_cast<std::size_t>(std::lround(250 / difference.spacing()));
  CHECK(difference.db(line).value() == doctest::Approx(-12.04).epsilon(0.02));
  stage.press_key("D");
  CHECK_FALSE(desk.state().view.difference);
}

TEST_CASE("the same recording as two takes differs by 0 dB") {
  bench::Workshop workshop{bench::Extent::two_short_takes};
  const auto file =
      howl::test::write_sound(workshop.scratch / "same.wav",
                              bench::tone_in_noise(250, 0.1, 1.0, 99), {.rate = bench::kRate});
  for (const double rpm : {1500.0, 1501.0}) {  // with the same facts it would be refused
    NewTake request{.recording = file, .log = std::nullopt, .take = {}};
    request.take.point = "transmission pan";
    request.take.speed = EnteredSpeed{Rpm(rpm)};
    add_take(workshop.folder, request);
  }
  Desk desk{Settings{}};
  bench::open_on(desk, workshop.folder);
  desk.apply(PickTake{"t03"});
  desk.apply(CompareTake{"t04"});
  desk.finish_jobs();
  const auto first = desk.sounds().find("t03");
  const auto second = desk.sounds().find("t04");
  const SpectrumDifference difference(first->spectrum, second->spectrum);
  REQUIRE(difference.lines() > 100);
  for (std::size_t line = 0; line < difference.lines(); ++line)
    CHECK(difference.db(line).value_or(0) == 0.0);
  CHECK(levels_at(std::vector<NamedSpectrum>{{"t03", "", &first->spectrum, 1500},
                                             {"t04", "", &second->spectrum, 1500}},
                  250, true)
            .ends_with("t03 − t04 0.0 dB"));
}
