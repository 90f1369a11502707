#include "src/analysis/comparison.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "src/analysis/take_pairs.h"
#include "src/demo/demo_cases.h"
#include "src/demo/recipe.h"
#include "src/errors.h"
#include "tests/src/repair_cases.h"
#include "tests/src/scratch_folder.h"

using namespace howl;

namespace {

TakeAudio take_at(const std::string& id, const std::string& point, double rpm,
                  const LoadState& load = {}) {
  TakeAudio take;
  take.id = id;
  take.point = point;
  take.load = load;
  take.sample_rate = 8000.0;
  take.seconds = 4.0;
  take.speed = SpeedCurve::constant(Rpm(rpm), 0.003);
  return take;
}

bool mentions(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

const Recipe& recipe_named(const std::vector<Recipe>& recipes, const std::string& name) {
  return *std::ranges::find(recipes, name, &Recipe::name);
}

}  // namespace

TEST_CASE("comparison: takes pair by point, speed and load") {
  const std::vector<TakeAudio> before{
      take_at("t01", "Oil pan", 1500), take_at("t02", "Oil pan", 2200),
      take_at("t03", "Oil pan", 1500, {{"ac", "on"}}), take_at("t04", "pump", 1500)};
  const std::vector<TakeAudio> after{
      take_at("t01", "oilpan", 1540), take_at("t02", "oil  PAN", 2290),
      take_at("t03", "old pump", 1500), take_at("t04", "oil pan", 1510)};
  const TakePairs pairs = pair_takes(before, after, {{"pump", "old pump"}});
  REQUIRE(pairs.rows.size() == 2);
  CHECK(pairs.rows[0].point == "Oil pan");
  CHECK(pairs.rows[0].before == std::vector<std::size_t>{0});
  CHECK(pairs.rows[0].after == std::vector<std::size_t>{0, 3});  // 1540 is within 3 % of 1500
  CHECK(pairs.rows[1].point == "pump");
  // 2290 rpm is 4 % off 2200, and nobody recorded the load again.
  REQUIRE(pairs.only_before.size() == 2);
  CHECK(pairs.only_before[0].takes == std::vector<std::string>{"t02"});
  CHECK(pairs.only_before[1].condition == "1500 rpm, ac on");
  REQUIRE(pairs.only_after.size() == 1);
  CHECK(pairs.only_after[0].takes == std::vector<std::string>{"t02"});
  CHECK(pair_takes(before, after, {}).only_after.size() == 2);  // the pump has another name
}

TEST_CASE("comparison: a howl that is no longer there is gone") {
  const Comparison c = test::compare(make_repair_scene(3, 1, {.howl_db = -200.0, .repeats = 2}));
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::gone);
  CHECK(mentions(c.verdict, "is gone: at least"));
  CHECK(mentions(c.verdict, "no longer prominent"));
  CHECK(mentions(c.verdict, "Nothing new"));
  CHECK(c.places.size() == 3);
}

TEST_CASE("comparison: a howl of half the amplitude is weaker, not gone") {
  const RepairScene scene = make_repair_scene(3, 1, {.howl_db = -6.0, .repeats = 3});
  const Comparison c = test::compare(scene);
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::weaker);
  const ComparedTone* howl = test::tone_near(c, test::howl_hz(scene));
  REQUIRE(howl);
  REQUIRE(howl->measured);
  CHECK(*howl->measured->relative_change_db == doctest::Approx(-6.0).epsilon(0.2));
  CHECK(howl->measured->ci95_db.low_db < -6.0);
  CHECK(howl->measured->ci95_db.high_db > -6.0);
}

TEST_CASE("comparison: a probe held badly proves nothing") {
  const Comparison c = test::compare(make_repair_scene(3, 1, {.all_db = -20.0}));
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::undetermined);
  CHECK(mentions(c.verdict, "Not proven"));
  CHECK(mentions(c.verdict, "quieter: the probe"));
  for (const ComparedPlace& place : c.places) CHECK(!place.trusted);
  // All three places alike: the gain may be it.
  REQUIRE(!c.warnings.empty());
  CHECK(mentions(c.warnings.front(), "gain"));
  CHECK(!c.record_next.empty());
}

TEST_CASE("comparison: not even where the recorder's own noise hides what is left") {
  const Comparison c = test::compare(make_repair_scene(3, 1, {.all_db = -70.0}));
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::undetermined);
  for (const ComparedTone& tone : c.tones) CHECK(tone.change == ToneChange::undetermined);
}

TEST_CASE("comparison: a new howl comes first") {
  const RepairScene scene =
      make_repair_scene(5, 1, {.howl_db = -200.0, .new_order = 17.37, .repeats = 2});
  const Comparison c = test::compare(scene);
  CAPTURE(c.verdict);
  CHECK(c.verdict.starts_with("New since"));
  REQUIRE(!c.tones.empty());
  CHECK(c.tones.front().change == ToneChange::appeared);
  CHECK(!c.tones.front().id_before);
  CHECK(c.howl == ToneChange::gone);
}

TEST_CASE("comparison: the same recordings twice are unchanged throughout") {
  const RepairScene scene = make_repair_scene(7, 1, {});
  const AnalysedCase once = test::visit_of(scene, false);
  const Comparison c =
      compare_analysed(once, once, {test::about_the_howl(scene), {}}, test::no_progress);
  CHECK(c.howl == ToneChange::unchanged);
  for (const ComparedTone& tone : c.tones) {
    CAPTURE(tone.frequency_hz.low);
    if (!tone.measured || !tone.measured->change_db) continue;
    CHECK(*tone.measured->change_db == doctest::Approx(0.0));
    const bool settled =
        tone.change == ToneChange::unchanged || tone.change == ToneChange::undetermined;
    CHECK(settled);
  }
  for (const ComparedPlace& place : c.places) CHECK(*place.rest_change_db == doctest::Approx(0.0));
}

TEST_CASE("comparison: without a partner nothing is proven, and the verdict says what to record") {
  const RepairScene scene = make_repair_scene(7, 1, {.howl_db = -200.0});
  const AnalysedCase before = test::visit_of(scene, false);
  AnalysedCase after = test::visit_of(scene, true);
  for (TakeAudio& take : after.takes) take.load["ac"] = "on";
  const Comparison c =
      compare_analysed(before, after, {test::about_the_howl(scene), {}}, test::no_progress);
  CHECK(c.places.empty());
  CHECK(c.howl == ToneChange::undetermined);
  CHECK(mentions(c.verdict, "Not proven"));
  CHECK(c.only_before.size() == 3);
  REQUIRE(!c.record_next.empty());
  CHECK(mentions(c.record_next.front(), "after: point"));
}

TEST_CASE("comparison: much shorter takes after prove nothing") {
  RepairScene scene = make_repair_scene(3, 1, {.howl_db = -200.0});
  for (RepairScene::Take& take : scene.takes)
    if (take.after) take.samples.resize(take.samples.size() / 3);
  const Comparison c = test::compare(scene);
  CHECK(c.howl == ToneChange::undetermined);
  CHECK(mentions(c.verdict, "less than half as long"));
}

TEST_CASE("comparison: no howl is gone while nothing shows that the engine ran as entered") {
  const RepairScene scene = make_repair_scene(3, 1, {.howl_db = -200.0, .repeats = 2});
  const AnalysedCase before = test::visit_of(scene, false);
  AnalysedCase after = test::visit_of(scene, true);
  const auto compared = [&] {
    return compare_analysed(before, after, {test::about_the_howl(scene), {}}, test::no_progress);
  };
  REQUIRE(compared().howl == ToneChange::gone);
  for (TakeResult& take : after.analysis.takes) take.sound_speed = {};
  CHECK(compared().howl == ToneChange::undetermined);
  CHECK(mentions(compared().verdict, "nothing shows that the engine ran"));
  // A log that ran along shows it, whatever the probe hears.
  for (TakeResult& take : after.analysis.takes) take.speed_source = "logged";
  CHECK(compared().howl == ToneChange::gone);
  for (TakeResult& take : after.analysis.takes) {
    take.sound_speed.rpm = 1.25 * take.rpm_min;
    take.sound_speed.disagreement_percent = 25.0;
  }
  CHECK(compared().howl == ToneChange::undetermined);
  CHECK(mentions(compared().verdict, "by its sound"));
}

TEST_CASE("comparison: a wrongly entered speed makes no howl gone, nor one new") {
  for (const double error : {0.02, 0.026, -0.026}) {
    CAPTURE(error);
    RepairScene scene = make_repair_scene(4, 1, {.speed_sd = 0.0, .repeats = 2});
    for (RepairScene::Take& take : scene.takes)
      if (take.after)
        take.written = SpeedCurve::constant(take.written.at(Seconds(0.0)) * (1.0 + error), 0.005);
    const Comparison c = test::compare(scene);
    CAPTURE(c.verdict);
    for (const ComparedTone& tone : c.tones) {
      CAPTURE(tone.frequency_hz.low);
      CHECK(tone.change != ToneChange::gone);
      CHECK(tone.change != ToneChange::appeared);
    }
  }
}

TEST_CASE("comparison: clipped takes and takes that lost contact are left out") {
  RepairScene scene = make_repair_scene(3, 1, {.howl_db = -200.0, .repeats = 2});
  for (RepairScene::Take& take : scene.takes) {
    if (!take.after) continue;
    if (take.point == 0)
      for (float& x : take.samples) x = std::clamp(60.0F * x, -1.0F, 1.0F);
    if (take.point == 1)
      for (std::size_t n = 0; n < take.samples.size() / 3; ++n) take.samples[n] *= 0.001F;
  }
  const Comparison c = test::compare(scene);
  std::size_t trusted = 0;
  for (const ComparedPlace& place : c.places) {
    trusted += place.trusted ? 1 : 0;
    if (place.point == "point 1") CHECK(mentions(place.doubts.front(), "clips"));
    if (place.point == "point 2") CHECK(mentions(place.doubts.front(), "lost contact"));
  }
  CHECK(trusted == 1);
}

namespace {

/// The howl is gone, and the other points hear everything 12 dB less than point 1.
RepairScene mended_and_loudest_at_first() {
  RepairScene scene = make_repair_scene(3, 1, {.howl_db = -200.0, .hand_sd_db = 0.0});
  for (RepairScene::Take& take : scene.takes)
    if (take.point > 0)
      for (float& x : take.samples) x *= 0.25F;
  return scene;
}

/// A tenth of a take, which is not left out for that.
void lose_contact(RepairScene& scene, std::size_t point, bool after) {
  for (RepairScene::Take& take : scene.takes)
    if (take.point == point && take.after == after)
      for (std::size_t n = 0; n < take.samples.size() / 10; ++n) take.samples[n] *= 0.001F;
}

bool asks_again(const Comparison& c, const std::string& point) {
  return std::any_of(c.record_next.begin(), c.record_next.end(), [&](const std::string& text) {
    return mentions(text, "after: " + point + " at ") && mentions(text, "again, the probe pressed");
  });
}

}  // namespace

TEST_CASE("comparison: where contact was lost and the howl was loudest, it is not proven gone") {
  RepairScene scene = mended_and_loudest_at_first();
  REQUIRE(test::compare(scene).howl == ToneChange::gone);
  lose_contact(scene, 0, true);
  const Comparison c = test::compare(scene);
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::undetermined);
  CHECK(mentions(c.verdict, "Not proven"));
  CHECK(mentions(c.verdict, "lost contact"));
  CHECK(!c.places[0].steady);
  REQUIRE(!c.record_next.empty());
  CHECK(mentions(c.record_next.front(), "after: point 1 at "));
  CHECK(asks_again(c, "point 1"));
}

TEST_CASE("comparison: a point that lost contact is asked for again, others may prove it gone") {
  RepairScene scene = mended_and_loudest_at_first();
  lose_contact(scene, 2, true);
  const Comparison c = test::compare(scene);
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::gone);
  CHECK(mentions(c.verdict, "Not settled at point 3"));
  CHECK(asks_again(c, "point 3"));
  CHECK(!asks_again(c, "point 1"));
}

TEST_CASE("comparison: what lost contact before cannot be asked for again") {
  RepairScene scene = mended_and_loudest_at_first();
  lose_contact(scene, 0, false);
  const Comparison c = test::compare(scene);
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::gone);
  CHECK(!c.places[0].steady);
  CHECK(c.places[0].record_again.empty());
  CHECK(!asks_again(c, "point 1"));
  for (const ComparedTone& tone : c.tones)
    if (tone.change == ToneChange::gone) CHECK(tone.places_proven < c.places.size());
}

TEST_CASE("comparison: a new howl beside a line of the engine's firing is new") {
  const RepairScene scene = make_repair_scene(5, 1, {.new_order = 17.37, .repeats = 2});
  AnalysedCase before = test::visit_of(scene, false);
  AnalysedCase after = test::visit_of(scene, true);
  const double hz = 17.37 * scene.takes.front().written.at(Seconds(0.0)).value / 60.0;
  const auto is_it = [&](const ToneResult& tone) {
    return tone.frequency_hz.low < 1.03 * hz && tone.frequency_hz.high > 0.97 * hz;
  };
  const auto found = std::find_if(after.analysis.tones.begin(), after.analysis.tones.end(), is_it);
  REQUIRE(found != after.analysis.tones.end());
  REQUIRE(std::none_of(before.analysis.tones.begin(), before.analysis.tones.end(), is_it));
  found->behaviour = Behaviour::speed_locked;
  found->order = 17.37;
  // Faint enough not to be heard, but found and told to be the engine's.
  ToneResult firing = *found;
  firing.id = "firing";
  firing.order = 17.5;
  firing.combustion = true;
  firing.track.clear();
  before.analysis.tones.push_back(firing);
  const Comparison c =
      compare_analysed(before, after, {test::about_the_howl(scene), {}}, test::no_progress);
  CAPTURE(c.verdict);
  REQUIRE(!c.tones.empty());
  const ComparedTone& first = c.tones.front();
  CHECK(first.change == ToneChange::appeared);
  CHECK(*first.order == doctest::Approx(17.37));
  CHECK(!first.combustion);
  CHECK(first.firing_order_before == doctest::Approx(17.5));
  CHECK(mentions(c.verdict,
                 "New since the case before, and prominent: order 17.37 (before, only "
                 "the engine's own order 17.50 was found there)"));
}

TEST_CASE("comparison: the demo pair") {
  const test::ScratchFolder scratch;
  const std::vector<Recipe> recipes = embedded_recipes();
  const Recipe& before = recipe_named(recipes, "transmission-pump");
  const auto after = repaired(before);
  REQUIRE(after);
  make_demo_case(before, scratch / "before", {});
  make_demo_case(*after, scratch / "after", {});
  const Comparison c = compare_cases(scratch / "before", scratch / "after", {}, test::no_progress);
  CAPTURE(c.verdict);
  CHECK(c.howl == ToneChange::gone);
  CHECK(mentions(c.verdict, "Nothing new"));
  REQUIRE(!c.tones.empty());
  REQUIRE(c.tones.front().order);
  CHECK(*c.tones.front().order == doctest::Approx(11.0).epsilon(0.005));
  for (const ComparedTone& tone : c.tones) {
    CAPTURE(tone.frequency_hz.low);
    CHECK(tone.change != ToneChange::appeared);
    CHECK(tone.change != ToneChange::louder);
  }
}

TEST_CASE("comparison: one case twice is refused") {
  const test::ScratchFolder scratch;
  Case value;
  value.title = "One";
  create_case(scratch / "one", value);
  CHECK_THROWS_WITH_AS(compare_cases(scratch / "one", scratch / "one", {}, test::no_progress),
                       doctest::Contains("one and the same case"), Error);
}

TEST_CASE("comparison: no two points of the case before are compared with one after") {
  const auto with_points = [](const std::vector<std::string>& points) {
    Case value;
    for (const std::string& point : points) {
      value.points.push_back({point, {}});
      value.takes.emplace_back();
      value.takes.back().point = point;
      value.takes.back().background = true;  // nothing to open
    }
    return value;
  };
  const Case before = with_points({"pan", "Pump"});
  const Case after = with_points({"transmission pan", "pump", "mount"});
  const auto compared = [&](const PointMap& renamed) {
    const Analysis none;
    compare_cases({"before", before, none}, {"after", after, none}, {{}, renamed},
                  test::no_progress);
  };
  CHECK_THROWS_WITH_AS(compared({{"pan", "pump"}}), doctest::Contains("has takes at 'Pump' itself"),
                       Error);
  CHECK_THROWS_WITH_AS(compared({{"pan", "mount"}, {"pump", "Mount"}}),
                       doctest::Contains("'pump' would be compared with that point too"), Error);
  CHECK_THROWS_WITH_AS(compared({{"Pan", "transmission pan"}, {"pan", "mount"}}),
                       doctest::Contains("another name already"), Error);
  CHECK_NOTHROW(compared({{"pan", "transmission pan"}}));
  CHECK_NOTHROW(compared({{"pan", "pump"}, {"pump", "mount"}}));
}
