#include "src/analysis/background.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "src/analysis/analyse.h"
#include "src/analysis/band_levels.h"
#include "src/analysis/passing_sweep.h"
#include "src/analysis/ranking.h"
#include "tests/src/analysis/synth_takes.h"

using namespace howl;
using namespace howl::test;

namespace {

constexpr std::size_t kSixSeconds = 48'000;  // 6 s
using Band = AnalysisRequest::Band;
const Band kBand{Band::Unit::hertz, {280.0, 320.0}};

Analysis analysed(std::vector<TakeAudio> takes, std::optional<Band> band = std::nullopt) {
  return analyse_takes(std::move(takes), 4, {band}, [](double, std::string_view) {});
}

const RankedPoint& point_of(const Analysis& analysis, const std::string& name) {
  const auto point = std::find_if(analysis.ranking.begin(), analysis.ranking.end(),
                                  [&](const RankedPoint& p) { return p.point == name; });
  REQUIRE(point != analysis.ranking.end());
  return *point;
}

const ToneResult* tone_near(const Analysis& analysis, double hertz) {
  for (const ToneResult& tone : analysis.tones)
    if (tone.frequency_hz.low - 2.0 <= hertz && hertz <= tone.frequency_hz.high + 2.0) return &tone;
  return nullptr;
}

}  // namespace

TEST_CASE("levels are freed of the background of their own point") {
  // A tone of −40 dB at both points; at 'b' another source howls at −37 dB in the same band.
  const auto loud_neighbour = tone(kSixSeconds, 305.0, -37.0);
  const auto suspect = tone(kSixSeconds, 295.0, -40.0, 1.0);
  const Analysis analysis = analysed(
      {hold_of("t01", "a", with(hiss(kSixSeconds, -70.0, 1), suspect)),
       hold_of("t02", "b", with(with(hiss(kSixSeconds, -70.0, 2), suspect), loud_neighbour)),
       background(hold_of("t03", "a", hiss(kSixSeconds, -70.0, 3))),
       background(hold_of("t04", "b", with(hiss(kSixSeconds, -70.0, 4), loud_neighbour)))},
      kBand);
  REQUIRE(analysis.ranking.size() == 2);
  const RankedPoint& a = point_of(analysis, "a");
  CHECK(*a.level_db == doctest::Approx(-40.0).epsilon(0.005));
  // 1.76 dB over its background: all that is known is an upper bound.
  const RankedPoint& b = point_of(analysis, "b");
  CHECK(b.upper_bound);
  CHECK(*b.level_db == doctest::Approx(-35.2 - 3.02).epsilon(0.005));
  CHECK(analysis.ranking.front().point == "a");
  CHECK(analysis.ranking.front().call == Call::no_difference);
  CHECK_FALSE(b.probability_loudest);
  CHECK(warned(b.warnings, "less than 3 dB over its background"));
  REQUIRE(analysis.takes.size() == 4);
  CHECK(analysis.takes[2].id == "t03");
  CHECK(analysis.takes[2].background);
  CHECK(a.takes == std::vector<std::string>{"t01"});
}

TEST_CASE("without a background at the point that of another is taken off, with a warning") {
  const auto suspect = tone(kSixSeconds, 300.0, -40.0);
  const Analysis analysis =
      analysed({hold_of("t01", "a", with(hiss(kSixSeconds, -30.0, 1), suspect)),
                hold_of("t02", "b", with(hiss(kSixSeconds, -30.0, 2), suspect)),
                background(hold_of("t03", "a", hiss(kSixSeconds, -30.0, 3)))},
               kBand);
  CHECK_FALSE(warned(point_of(analysis, "a").warnings, "no background take"));
  CHECK(warned(point_of(analysis, "b").warnings,
               "no background take at this point; that of t03 (a) is taken off instead"));
  CHECK(*point_of(analysis, "b").level_db == doctest::Approx(-40.0).epsilon(0.02));
}

TEST_CASE("a background take at another speed is not taken off") {
  TakeAudio other = background(hold_of("t02", "a", hiss(kSixSeconds, -30.0, 3)));
  other.speed = SpeedCurve::constant(Rpm(2500.0), 0.005);
  const Analysis analysis = analysed(
      {hold_of("t01", "a", with(hiss(kSixSeconds, -30.0, 1), tone(kSixSeconds, 300.0, -40.0))),
       other},
      kBand);
  CHECK(warned(point_of(analysis, "a").warnings, "no background take at like speed"));
}

TEST_CASE("a background sweep serves a hold whose speed it passes slowly enough") {
  // Hiss of rms −30 dB over 4 kHz holds −30 + 3 + 10 lg(40/4000) = −47 dB re full-scale sine in the
  // band; the tone has −45.
  const auto swept = [](double low_rpm, double high_rpm) {
    TakeAudio sweep = background(hold_of("t02", "a", hiss(kSixSeconds, -30.0, 3)));
    sweep.speed = SpeedCurve::through(
        std::vector<SpeedPoint>{{Seconds(0.0), Rpm(low_rpm)}, {Seconds(6.0), Rpm(high_rpm)}}, 0.01);
    return sweep;
  };
  const TakeAudio hold =
      hold_of("t01", "a", with(hiss(kSixSeconds, -30.0, 1), tone(kSixSeconds, 300.0, -45.0)));
  // ±5 % of 1800 rpm are 180 rpm: 2.2 s of 1500 to 2000 rpm, 0.5 s of 900 to 3000.
  const TakeAudio slow = swept(1500.0, 2000.0);
  const TakeAudio quick = swept(900.0, 3000.0);
  const TakeAudio below = swept(1500.0, 1850.0);
  REQUIRE(passes(slow, hold).size() == 1);
  CHECK(covered(passes(slow, hold)) == doctest::Approx(180.0 / (500.0 / 6.0)).epsilon(0.03));
  CHECK(passes(slow, hold).front().low == doctest::Approx(2.52).epsilon(0.02));
  CHECK(passes(quick, hold).empty());
  CHECK(passes(below, hold).empty());
  CHECK(passes(hold, hold).empty());
  CHECK(passes(slow, swept(1700.0, 1900.0)).empty());

  const RankedPoint served = point_of(analysed({hold, slow}, kBand), "a");
  CHECK(served.warnings.empty());
  CHECK(*served.level_db == doctest::Approx(-45.0).epsilon(0.02));
  for (const TakeAudio& sweep : {quick, below}) {
    const RankedPoint bare = point_of(analysed({hold, sweep}, kBand), "a");
    CHECK(warned(bare.warnings,
                 "record one at 1800 rpm, or a sweep that takes longer to pass that speed"));
    CHECK(*bare.level_db == doctest::Approx(-42.9).epsilon(0.01));  // −45 and −47 dB together
  }
}

TEST_CASE("a tone that a background sweep shows at the hold's speed is not the suspect") {
  // Order 10 is as loud in the sweep about 1800 rpm, and 12 dB weaker far from there; order 14 is
  // in the hold only.
  constexpr double from = 1500.0;
  constexpr double to = 2100.0;
  std::vector<double> hertz;
  std::vector<float> swept = hiss(kSixSeconds, -60.0, 3);
  for (std::size_t i = 0; i < kSixSeconds; ++i)
    hertz.push_back(10.0 / 60.0 * (from + (to - from) * static_cast<double>(i) / kSixSeconds));
  auto order10 = synth_tone(hertz, kTakeRate, amplitude_of(-30.0), 0.0);
  for (std::size_t i = 0; i < kSixSeconds; ++i)
    if (std::abs(6.0 * hertz[i] - 1800.0) > 150.0) order10[i] *= 0.25F;
  TakeAudio sweep = background(hold_of("t02", "a", with(swept, order10)));
  sweep.speed = SpeedCurve::through(
      std::vector<SpeedPoint>{{Seconds(0.0), Rpm(from)}, {Seconds(6.0), Rpm(to)}}, 0.005);
  REQUIRE(!passes(sweep, hold_of("t01", "a", hiss(kSixSeconds, -60.0, 1))).empty());
  const Analysis analysis =
      analysed({hold_of("t01", "a",
                        with(with(hiss(kSixSeconds, -60.0, 1), tone(kSixSeconds, 300.0, -30.0)),
                             tone(kSixSeconds, 420.0, -36.0))),
                sweep});
  const ToneResult* same = tone_near(analysis, 300.0);
  const ToneResult* own = tone_near(analysis, 420.0);
  REQUIRE(same);
  REQUIRE(own);
  CHECK(same->remark.find("(t02): not the suspect") != std::string::npos);
  CHECK(own->remark.empty());
  CHECK(analysis.tones.front().id == own->id);
}

TEST_CASE("from an engine-off take an order band gets the hertz that it sweeps") {
  // White noise of 1 over 4 kHz; orders 9 to 11 at 1200 to 2400 rpm are on average over equal steps
  // of angle 60 Hz wide: the mean speed over angle is (2400² + 2400·1200 + 1200²)·2/(3·3600) rpm.
  const TakeAudio off = engine_off(hold_of("t02", "a", hiss(kSixSeconds, 0.0, 1)));
  TakeAudio sweep = hold_of("t01", "a", hiss(kSixSeconds, 0.0, 2));
  sweep.speed = SpeedCurve::through(
      std::vector<SpeedPoint>{{Seconds(0.0), Rpm(1200.0)}, {Seconds(6.0), Rpm(2400.0)}}, 0.01);
  const std::vector<double> blocks = swept_band_blocks(off, sweep, {9.0, 11.0});
  const double mean_rpm =
      2.0 * (2400.0 * 2400.0 + 2400.0 * 1200.0 + 1200.0 * 1200.0) / (3.0 * 3600.0);
  CHECK(mean(blocks) == doctest::Approx(2.0 * mean_rpm / 60.0 / 4000.0).epsilon(0.05));
  // What the sweep itself measures of noise with the same density.
  const BandBlocks own = band_blocks(sweep, {Band::Unit::order, {9.0, 11.0}});
  CHECK(mean(blocks) == doctest::Approx(mean(own.block_power)).epsilon(0.1));
}

TEST_CASE("an engine-off take is no hold: it has no tones, no rank, no orders") {
  const auto suspect = tone(kSixSeconds, 300.0, -40.0);
  const Analysis analysis =
      analysed({engine_off(hold_of("t01", "a", hiss(kSixSeconds, -60.0, 3))),
                hold_of("t02", "a", with(hiss(kSixSeconds, -60.0, 1), suspect)),
                hold_of("t03", "b", with(hiss(kSixSeconds, -60.0, 2), suspect, -8.0))},
               Band{Band::Unit::order, {9.5, 10.5}});
  CHECK(analysis.takes[0].engine_off);
  CHECK(analysis.takes[0].rpm_max == 0.0);
  CHECK(analysis.takes[0].warnings.empty());
  CHECK(*point_of(analysis, "a").level_db == doctest::Approx(-40.0).epsilon(0.01));
  CHECK(point_of(analysis, "a").takes == std::vector<std::string>{"t02"});
  CHECK(warned(point_of(analysis, "b").warnings, "that of t01 (a)"));
  const ToneResult* howl = tone_near(analysis, 300.0);
  REQUIRE(howl != nullptr);
  CHECK(howl->remark.empty());
  for (const TrackPoint& p : howl->track) CHECK(p.take != "t01");
}

TEST_CASE("a tone that is as loud without the suspect is not chosen as suspect band") {
  const auto neighbour = tone(kSixSeconds, 700.0, -30.0);
  const auto suspect = tone(kSixSeconds, 300.0, -45.0);
  const auto working = [&](const std::string& id, const std::string& point, std::uint64_t seed) {
    return hold_of(id, point, with(with(hiss(kSixSeconds, -60.0, seed), neighbour), suspect));
  };
  std::vector<TakeAudio> takes{working("t01", "a", 1), working("t02", "b", 2)};
  const Analysis before = analysed(takes);
  REQUIRE(before.suspect_band);
  CHECK(before.suspect_band->band.range.contains(700.0));

  takes.push_back(
      background(hold_of("t03", "a", with(hiss(kSixSeconds, -60.0, 3), neighbour, 1.0))));
  const Analysis after = analysed(takes);
  REQUIRE(after.suspect_band);
  CHECK(after.suspect_band->band.range.contains(300.0));
  CHECK(tone_near(after, 700.0)->remark.find("t03") != std::string::npos);
  CHECK(tone_near(after, 300.0)->remark.empty());
}

TEST_CASE("a tone that is much quieter without the suspect stays the howl") {
  const auto suspect = tone(kSixSeconds, 300.0, -40.0);
  const Analysis analysis =
      analysed({hold_of("t01", "a", with(hiss(kSixSeconds, -70.0, 1), suspect)),
                background(hold_of("t02", "a", with(hiss(kSixSeconds, -70.0, 2), suspect, -8.0)))});
  REQUIRE(tone_near(analysis, 300.0) != nullptr);
  CHECK(tone_near(analysis, 300.0)->remark.empty());
}

TEST_CASE("what sounds with the engine off at the same pitch is hum or workshop noise") {
  const auto compressor = tone(kSixSeconds, 487.0, -35.0);
  const auto suspect = tone(kSixSeconds, 300.0, -45.0);
  const Analysis analysis = analysed(
      {hold_of("t01", "a", with(with(hiss(kSixSeconds, -60.0, 1), compressor), suspect)),
       hold_of("t02", "b", with(with(hiss(kSixSeconds, -60.0, 2), compressor), suspect, 2.0)),
       engine_off(hold_of("t03", "a", with(hiss(kSixSeconds, -60.0, 3), compressor)))});
  CHECK(tone_near(analysis, 487.0)->remark.find("with the engine off (t03)") != std::string::npos);
  REQUIRE(analysis.suspect_band);
  CHECK(analysis.suspect_band->band.range.contains(300.0));
}

TEST_CASE("where no point stands over its background none is called the loudest") {
  const Analysis analysis = analysed({hold_of("t01", "a", hiss(kSixSeconds, -30.0, 1)),
                                      hold_of("t02", "b", hiss(kSixSeconds, -20.0, 2)),
                                      background(hold_of("t03", "a", hiss(kSixSeconds, -30.0, 3))),
                                      background(hold_of("t04", "b", hiss(kSixSeconds, -20.0, 4)))},
                                     kBand);
  for (const RankedPoint& point : analysis.ranking) {
    CHECK(point.upper_bound);
    CHECK(point.call == Call::no_difference);
    CHECK_FALSE(point.probability_loudest);
  }
  CHECK(warned(analysis.warnings, "none can be called loudest"));
}

TEST_CASE("only background takes: nothing to rank, and nothing breaks") {
  const Analysis analysis = analysed({background(hold_of("t01", "a", hiss(kSixSeconds, -30.0, 1))),
                                      engine_off(hold_of("t02", "a", hiss(kSixSeconds, -30.0, 2)))},
                                     kBand);
  CHECK(analysis.ranking.empty());
  CHECK(analysis.takes.size() == 2);
}
