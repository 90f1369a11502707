#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <tuple>
#include <vector>

#include "src/report/suspect_words.h"
#include "tests/ui/panel_stage.h"
#include "tests/ui/workshop.h"
#include "ui/look/plot.h"
#include "ui/panels/pitch_laws.h"
#include "ui/panels/pitch_words.h"
#include "ui/panels/sketch_dots.h"
#include "ui/state/about_tone.h"
#include "ui/state/desk.h"
#include "ui/state/keys.h"
#include "ui/state/track_moves.h"

using namespace howl;        // NOLINT(google-build-using-namespace)
using namespace howl::desk;  // NOLINT(google-build-using-namespace)

namespace {

bool lie_apart(const Area& a, const Area& b) {
  return a.right() <= b.x + 0.5F || b.right() <= a.x + 0.5F || a.bottom() <= b.y + 0.5F ||
         b.bottom() <= a.y + 0.5F;
}

std::vector<std::string> names_with(const bench::Stage& stage, const std::string& start) {
  std::vector<std::string> names;
  for (const auto& [name, area] : stage.targets)
    if (name.starts_with(start)) names.push_back(name);
  return names;
}

/// Order 10 with fainter orders 27.3 and 28.1 at the same point.
struct TwoHowls {
  bench::Workshop workshop{bench::Extent::two_short_takes};
  Desk desk{Settings{}};
  bench::Stage stage{desk};
  TwoHowls() {
    std::uint64_t seed = 50;
    for (const double rpm : {1200.0, 1700.0, 2300.0}) {
      auto sound = bench::tone_in_noise(10 * rpm / 60, 0.2, 3.5, ++seed);
      for (const auto& [order, peak] : {std::pair{27.3, 0.06}, std::pair{28.1, 0.05}}) {
        const auto more = bench::tone_in_noise(order * rpm / 60, peak, 3.5, ++seed);
        for (std::size_t i = 0; i < sound.size(); ++i) sound[i] += more[i];
      }
      workshop.record_sound("transmission pan", rpm, sound);
    }
    bench::open_on(desk, workshop.folder);
    stage.frames(2);
  }
  const Analysis& analysis() const { return desk.state().answer->analysis; }
  const ToneResult& tone_of(double order) const {
    const auto found = std::ranges::find_if(analysis().tones, [&](const ToneResult& tone) {
      return tone.order && std::abs(*tone.order - order) < 0.2;
    });
    REQUIRE(found != analysis().tones.end());
    return *found;
  }
};

}  // namespace

TEST_CASE("each law that was fitted is named in the plot of pitch, with its chance") {
  Desk desk{Settings{}};
  bench::open_on(desk, bench::shared_workshop().folder);
  bench::Stage stage(desk);
  const ToneResult& tone = *shown_tone(desk.state());
  REQUIRE(tone.laws.size() >= 4);
  for (const auto& [width, height, scale] : {std::tuple{960.0F, 600.0F, 1.0},
                                             {1280.0F, 720.0F, 1.0},
                                             {1920.0F, 1080.0F, 2.0},
                                             {1920.0F, 1080.0F, 1.0}}) {
    CAPTURE(width);
    CAPTURE(scale);
    stage.resize(width, height);
    desk.apply(SetScale{scale});
    desk.apply(SetClassMode{false});
    desk.apply(GoTo{Step::pitch});
    stage.frames(2);
    const Area& plot = stage.area_of(std::string(kPitchName));
    const auto names = names_with(stage, "words.law.");
    CHECK(names.size() == tone.laws.size());
    for (const std::string& name : names) {
      CHECK(stage.area_of(name).x >= plot.right());
      CHECK(stage.area_of(name).right() <= width);
      for (const std::string& other : names)
        if (other != name) CHECK(lie_apart(stage.area_of(name), stage.area_of(other)));
    }
    // Before a class that is still to find it, none.
    desk.apply(SetClassMode{true});
    desk.apply(ShowAnswer{false});
    stage.frames(2);
    CHECK(names_with(stage, "words.law.").empty());
  }
}

TEST_CASE("a law's interval is as wide as level and exponent leave it") {
  FittedLaw law;
  law.name = "free";
  law.reference_rpm = 1000;
  law.frequency_at_reference_hz = 100;
  law.exponent = 1;
  law.frequency_at_reference_ci95_hz = {80, 125};
  law.exponent_ci95 = Interval{0.5, 2};
  CHECK(law_pitch_ci95_hz(law, 1000).low == doctest::Approx(80));
  CHECK(law_pitch_ci95_hz(law, 1000).high == doctest::Approx(125));
  // At e times the speed: 100 e Hz; ln 1.25 = 0.2231 up and down, 1 up and 0.5 down by the
  // exponent.
  const Interval far = law_pitch_ci95_hz(law, 1000 * std::exp(1.0));
  CHECK(std::log(far.high / 100) == doctest::Approx(1 + std::hypot(0.2231, 1)).epsilon(1e-3));
  CHECK(std::log(far.low / 100) == doctest::Approx(1 - std::hypot(0.2231, 0.5)).epsilon(1e-3));
  CHECK(law_figures(law) == "exponent 1.00 (0.50 … 2.00)");
  law.exponent = 0;
  law.exponent_ci95 = Interval{-0.002, 0.002};  // wanders about one pitch
  CHECK(law_figures(law) == "100 Hz (80 … 125)");
  law.exponent = 1;
  law.exponent_ci95.reset();
  CHECK(law_figures(law) == "order 6.000 (4.800 … 7.500)");  // 60 · 100 / 1000
  law.exponent = 0;
  CHECK(law_figures(law) == "100 Hz (80 … 125)");
}

TEST_CASE("in the plot of pitch the place under the mouse is marked, and the nearest point") {
  Desk desk{Settings{}};
  bench::open_on(desk, bench::shared_workshop().folder);
  bench::Stage stage(desk);
  desk.apply(GoTo{Step::pitch});
  stage.frames(2);
  CHECK_FALSE(stage.targets.contains("words.cross"));
  const Area plot = stage.area_of(std::string(kPitchName));
  const ImVec2 mouse{plot.x + plot.w * 0.4F, plot.y + plot.h * 0.3F};
  stage.move_mouse(mouse);
  stage.frames(2);
  CHECK(stage.area_of("words.cross").centre().x == doctest::Approx(mouse.x).epsilon(0.01));
  CHECK(stage.area_of("words.cross").centre().y == doctest::Approx(mouse.y).epsilon(0.01));
  // Pressed on the nearest point, it is picked.
  const ImVec2 near = stage.area_of("words.nearest").centre();
  stage.move_mouse(near);
  stage.frame();
  CHECK(stage.area_of("words.nearest").centre().x == doctest::Approx(near.x).epsilon(0.001));
  TrackPoint point;
  point.rpm = 1500;
  point.frequency_hz = 250;
  point.level_db = -25.24;
  point.take = "t03";
  CHECK(point_words(point) == "250 Hz · 1500 rpm · order 10.00 · −25.2 dB · t03");
}

TEST_CASE("a low plot has two labels at an axis") {
  const auto extent = [](const std::string&) { return 12.0; };
  const auto labels = [&](double low, double high, double pixels) {
    return labelled_ticks({low, high, false, pixels, 0}, extent, 10, 34).size();
  };
  CHECK(labels(-49, 49, 135) >= 2);
  CHECK(labels(-14, 14, 40) >= 2);
  CHECK(labels(-14, 14, 24) == 2);  // −10 and 10, 17 pixels apart
  CHECK(labels(-86, 0, 60) >= 2);
  CHECK(labels(-86, 0, 10) < 2);  // no room for two
}

TEST_CASE("beside the points on the vehicle stands their level with its interval") {
  Desk desk{Settings{}};
  bench::open_on(desk, bench::shared_workshop().folder);
  bench::Stage stage(desk, 1920, 1080);
  const auto& ranking = desk.state().answer->analysis.ranking;
  REQUIRE(ranking.size() == 2);
  for (const Step step : {Step::where, Step::what}) {
    desk.apply(SetClassMode{false});
    desk.apply(GoTo{step});
    std::vector<Area> bars;
    for (std::size_t i = 0; i < 2; ++i) {
      desk.apply(PickPoint{ranking[i].point});
      stage.frames(2);
      bars.push_back(stage.area_of("words.bar." + ranking[i].point));
      if (ranking[i].ci95_db) {
        const Area& interval = stage.area_of("words.interval." + ranking[i].point);
        CHECK(interval.x < bars[i].right());
        CHECK(bars[i].right() < interval.right());
      }
      // The one that the chosen side does not show is named.
      CHECK(stage.targets.contains("words.elsewhere"));
    }
    CHECK(bars[0].w > bars[1].w);
    desk.apply(SetClassMode{true});
    desk.apply(ShowAnswer{false});
    stage.frames(2);
    CHECK(names_with(stage, "words.bar.").empty());
    CHECK_FALSE(stage.targets.contains("words.elsewhere"));
  }
}

TEST_CASE("no dot on the vehicle covers the middle of another") {
  const Area box{0, 0, 100, 200};
  const std::vector<SketchDot> dots{{{50, 50}, 13}, {{50, 50}, 12}, {{52, 53}, 4.5F},
                                    {{0, 200}, 9},  {{0, 200}, 9},  {{80, 20}, 5}};
  const auto places = dots_apart(dots, box);
  REQUIRE(places.size() == dots.size());
  for (std::size_t i = 0; i < dots.size(); ++i)
    for (std::size_t j = i + 1; j < dots.size(); ++j) {
      CAPTURE(i);
      CAPTURE(j);
      const float away = std::hypot(places[i].x - places[j].x, places[i].y - places[j].y);
      CHECK(away >= 0.95F * std::max(dots[i].radius, dots[j].radius));
    }
  CHECK(places[5].x == 80);  // what lies alone stays
  CHECK(places[5].y == 20);
}

TEST_CASE("where there is little height, suspects and vehicle are shown in turn") {
  Desk desk{Settings{}};
  bench::open_on(desk, bench::shared_workshop().folder);
  desk.apply(SetScale{2});
  bench::Stage stage(desk, 1920, 1080);
  desk.apply(GoTo{Step::what});
  stage.frames(2);
  CHECK_FALSE(stage.targets.contains("spot.transmission pan"));
  stage.click("part.On the vehicle");
  CHECK(stage.targets.contains("spot.transmission pan"));
}

TEST_CASE("where another tone is picked than ranking and suspects are about, it is said") {
  TwoHowls two;
  const ToneResult& about = two.tone_of(10);
  const ToneResult& other = two.tone_of(27.3);
  for (const Step step : {Step::where, Step::what}) {
    two.desk.apply(PickTone{about.id});
    two.desk.apply(GoTo{step});
    two.stage.frames(2);
    CHECK_FALSE(two.stage.targets.contains("about.pick"));
    CHECK(names_with(two.stage, "words.picked.").empty());
    two.desk.apply(PickTone{other.id});
    two.stage.frames(2);
    CHECK(about_words(two.desk.state()).starts_with("About order 10.0"));
    CHECK(about_words(two.desk.state()).find("picked: " + other.id) != std::string::npos);
    if (step == Step::where) CHECK(two.stage.targets.contains("words.picked.transmission pan"));
    two.stage.click("about.pick");
    CHECK(two.desk.state().view.selection.tone == about.id);
    CHECK_FALSE(two.stage.targets.contains("about.pick"));
  }
}

TEST_CASE("each name of a line in the spectrogram leads to its line, and none lies on another") {
  TwoHowls two;
  two.desk.apply(PickTake{"t03"});
  two.desk.apply(GoTo{Step::listen});
  two.desk.finish_jobs();
  two.stage.frames(2);
  const auto names = names_with(two.stage, "words.line.");
  REQUIRE(names.size() >= 3);
  const Area& map = two.stage.area_of("sound.map");
  for (const std::string& name : names) {
    const Area& label = two.stage.area_of(name);
    const Area& met = two.stage.area_of("words.met." + name.substr(11));
    CHECK(map.contains(met.from()));
    CHECK(met.x < label.x);
    CHECK(label.x - met.x < 40);
    for (const std::string& other : names)
      if (other != name) CHECK(lie_apart(label, two.stage.area_of(other)));
  }
}

TEST_CASE("what is told of a suspect adds up, and with room each is accounted for") {
  Desk desk{Settings{}};
  bench::open_on(desk, bench::shared_workshop().folder);
  bench::Stage stage(desk, 1920, 1080);
  desk.apply(GoTo{Step::what});
  stage.frames(2);
  const Verdict& verdict = desk.state().answer->analysis.verdict;
  std::size_t with_rest = 0;
  for (const Suspect& suspect : suspects_worth_naming(verdict, 8, 8)) {
    CAPTURE(suspect_name(suspect));
    const bool rest = weight_of_the_rest_db(suspect).has_value();
    CHECK(stage.targets.contains("words.rest." + suspect_name(suspect)) == rest);
    with_rest += rest ? 1 : 0;
    if (suspect.causes.size() > 1)
      CHECK(stage.targets.contains("words.cause." + suspect_name(suspect) + "." +
                                   suspect.causes.front().id));
  }
  CHECK(with_rest > 0);
}
