#include "src/analysis/reference_channel.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "src/analysis/analyse.h"
#include "src/analysis/quality.h"
#include "tests/src/analysis/synth_takes.h"

using namespace howl;
using namespace howl::test;

namespace {

constexpr std::size_t kEightSeconds = 64'000;  // 8 s
using Band = AnalysisRequest::Band;
const Band kHowlBand{Band::Unit::hertz, {280.0, 320.0}};
const Band kOrders{Band::Unit::order, {9.5, 10.5}};

/// Both channels hear a howl of `source_db`; the probe `gain_db` of it. Each has noise of its own.
TakeAudio heard_by_both(const std::string& id, const std::string& point, double source_db,
                        double gain_db, std::uint64_t seed) {
  const auto howl = tone(kEightSeconds, 300.0, source_db, static_cast<double>(seed));
  return hold_of(id, point, with(hiss(kEightSeconds, -70.0, 2 * seed), howl, gain_db),
                 with(hiss(kEightSeconds, -65.0, 2 * seed + 1), howl, -6.0));
}

Analysis analysed(std::vector<TakeAudio> takes, const Band& band) {
  return analyse_takes(std::move(takes), 4, {band}, [](double, std::string_view) {});
}

}  // namespace

TEST_CASE("a source that drifts from take to take ranks rightly by the reference") {
  // 'a' is 6 dB louder than 'b', but was recorded while the source was 12 dB quieter.
  const std::vector<TakeAudio> takes{heard_by_both("t01", "a", -46.0, 0.0, 1),
                                     heard_by_both("t02", "b", -34.0, -6.0, 2)};
  for (const Band& band : {kHowlBand, kOrders}) {
    const Analysis with_reference = analysed(takes, band);
    REQUIRE(with_reference.ranking.size() == 2);
    CHECK(with_reference.ranking.front().point == "a");
    CHECK(*with_reference.ranking[1].below_loudest_db == doctest::Approx(6.0).epsilon(0.05));
    const double mean_db = 10.0 * std::log10(0.5 * (std::pow(10.0, -4.6) + std::pow(10.0, -3.4)));
    CHECK(*with_reference.ranking[0].level_db == doctest::Approx(mean_db).epsilon(0.01));
    CHECK(*with_reference.ranking[0].coherent_level_db == doctest::Approx(mean_db).epsilon(0.01));
    REQUIRE(with_reference.takes[0].reference);
    const ReferenceResult& reference = *with_reference.takes[0].reference;
    CHECK(*reference.level_db == doctest::Approx(-52.0).epsilon(0.01));
    CHECK(*reference.correction_db == doctest::Approx(mean_db + 46.0).epsilon(0.03));
    CHECK(*reference.coherence > 0.95);
    CHECK_FALSE(reference.delay_s);  // a single tone has none
  }
  std::vector<TakeAudio> bare = takes;
  for (TakeAudio& take : bare) take.stream_both = {};
  const Analysis without = analysed(bare, kHowlBand);
  CHECK(without.ranking.front().point == "b");
  CHECK_FALSE(without.takes[0].reference);
  CHECK_FALSE(without.ranking.front().coherent_level_db);
}

TEST_CASE("an order is tracked alike in both channels of a sweep") {
  // Order 10 from 900 to 2700 rpm passes 150 to 450 Hz; as above 6 dB apart, the source 12 dB.
  const SpeedCurve rising = SpeedCurve::through(
      std::vector<SpeedPoint>{{Seconds(0.0), Rpm(900.0)}, {Seconds(8.0), Rpm(2700.0)}}, 0.003);
  const auto swept = [&](const std::string& id, const std::string& point, double source_db,
                         double gain_db, std::uint64_t seed) {
    const auto howl =
        synth_order(rising, Order(10.0), kEightSeconds, kTakeRate, amplitude_of(source_db));
    TakeAudio take = hold_of(id, point, with(hiss(kEightSeconds, -60.0, 2 * seed), howl, gain_db),
                             with(hiss(kEightSeconds, -55.0, 2 * seed + 1), howl, -6.0));
    take.speed = rising;
    return take;
  };
  const Analysis analysis =
      analysed({swept("t01", "a", -46.0, 0.0, 1), swept("t02", "b", -34.0, -6.0, 2)}, kOrders);
  CHECK(analysis.ranking.front().point == "a");
  CHECK(*analysis.ranking[1].below_loudest_db == doctest::Approx(6.0).epsilon(0.05));
  CHECK(*analysis.takes[0].reference->level_db == doctest::Approx(-52.0).epsilon(0.01));
  CHECK(*analysis.takes[0].reference->coherence > 0.9);
}

TEST_CASE("what a reference hears while the speed is not known does not count") {
  // Order 10 of 1800 rpm; 30 dB over it the probe alone hears another tone there for 3 s.
  const auto howl = tone(kEightSeconds, 300.0, -46.0);
  auto blow = tone(kEightSeconds, 305.0, -16.0);
  std::fill(blow.begin() + 24'000, blow.end(), 0.0F);
  TakeAudio take = hold_of("t01", "a", with(with(hiss(kEightSeconds, -70.0, 1), howl), blow),
                           with(hiss(kEightSeconds, -65.0, 2), howl));
  for (const Band& band : {kHowlBand, kOrders}) {
    CAPTURE(band.range.low);
    take.speed_known = {};
    heed_quality(take);
    const auto all = read_reference(take, band);
    REQUIRE(all);
    CHECK(*all->coherence < 0.5);
    take.speed_known = {{3.0, 8.0}};
    heed_quality(take);
    const auto known = read_reference(take, band);
    REQUIRE(known);
    CHECK(*known->coherence > 0.95);
    CHECK(known->level_db == doctest::Approx(-46.0).epsilon(0.01));
  }
}

TEST_CASE("nothing is corrected where only some takes have a reference") {
  std::vector<TakeAudio> takes{heard_by_both("t01", "a", -46.0, 0.0, 1),
                               heard_by_both("t02", "b", -34.0, -6.0, 2)};
  takes[1].stream_both = {};
  const Analysis analysis = analysed(takes, kHowlBand);
  CHECK(warned(analysis.warnings, "t02 has no usable reference channel and others have"));
  CHECK(analysis.ranking.front().point == "b");
  REQUIRE(analysis.takes[0].reference);
  CHECK(analysis.takes[0].reference->level_db);
  CHECK_FALSE(analysis.takes[0].reference->correction_db);
}

TEST_CASE("nothing is corrected where the reference does not hear the band") {
  const auto deaf = [](const std::string& id, const std::string& point, double level_db,
                       std::uint64_t seed) {
    return hold_of(id, point,
                   with(hiss(kEightSeconds, -70.0, seed), tone(kEightSeconds, 300.0, level_db)),
                   hiss(kEightSeconds, -40.0, seed + 50));
  };
  const Analysis analysis =
      analysed({deaf("t01", "a", -46.0, 1), deaf("t02", "b", -34.0, 2)}, kHowlBand);
  CHECK(warned(analysis.warnings, "does not hear the suspect band in t01, t02"));
  CHECK(analysis.ranking.front().point == "b");
  CHECK(*analysis.takes[0].reference->coherence < 0.1);
  CHECK_FALSE(analysis.takes[0].reference->correction_db);
}

TEST_CASE("a reference that stands 3 dB over its floor is believed, its floor taken off") {
  // Its noise holds as much in 40 Hz as the tone: at −52 dB in the band, −26 dB re full-scale sine
  // over 4 kHz, since the level of noise of mean square 1 is +3 dB re full-scale sine.
  const auto howl = tone(kEightSeconds, 300.0, -46.0);
  const TakeAudio take = hold_of("t01", "a", with(hiss(kEightSeconds, -90.0, 1), howl),
                                 with(hiss(kEightSeconds, -37.0, 2), howl, -6.0));
  const auto reading = read_reference(take, kHowlBand);
  REQUIRE(reading);
  CHECK(reading->hears);
  CHECK(reading->level_db == doctest::Approx(-52.0).epsilon(0.02));
}

TEST_CASE("a loud point that the reference does not hear is told: a source of its own") {
  const auto own = tone(kEightSeconds, 306.0, -36.0);
  TakeAudio strange = heard_by_both("t02", "b", -40.0, -20.0, 2);
  const auto probe = std::make_shared<std::vector<float>>();
  strange.stream_both([&](std::span<const float> samples, std::span<const float>) {
    probe->assign(samples.begin(), samples.end());
  });
  std::vector<float> reference;
  strange.stream_both([&](std::span<const float>, std::span<const float> samples) {
    reference.assign(samples.begin(), samples.end());
  });
  const Analysis analysis = analysed(
      {heard_by_both("t01", "a", -40.0, 0.0, 1), hold_of("t02", "b", with(*probe, own), reference)},
      kHowlBand);
  REQUIRE(analysis.ranking.front().point == "b");
  CHECK(warned(analysis.ranking.front().warnings, "may have a source of its own"));
  CHECK(*analysis.ranking.front().coherent_level_db < *analysis.ranking.front().level_db - 10.0);
  CHECK(analysis.ranking[1].warnings.empty());
}

TEST_CASE("a delay is reported for broad-band noise") {
  constexpr std::size_t late = 24;  // 3 ms
  auto source = hiss(kEightSeconds, -30.0, 1);
  std::vector<float> delayed(late, 0.0F);
  delayed.insert(delayed.end(), source.begin(), source.end() - late);
  const TakeAudio take = hold_of("t01", "a", with(hiss(kEightSeconds, -40.0, 2), delayed),
                                 with(hiss(kEightSeconds, -40.0, 3), source));
  const auto delay = reference_delay(take);
  REQUIRE(delay);
  CHECK(*delay == doctest::Approx(late / kTakeRate).epsilon(0.01));
  CHECK_FALSE(reference_delay(hold_of("t02", "a", source)));
  CHECK_FALSE(reference_delay(
      hold_of("t03", "a", hiss(kEightSeconds, -40.0, 4), hiss(kEightSeconds, -40.0, 5))));
}

TEST_CASE("corrections are relative to the mean of each condition") {
  const auto reading = [](double level_db) { return ReferenceReading{level_db, 0.1, 1.0, true}; };
  const std::vector<ReferencedTake> takes{{"t01", 0, reading(-40.0), true},
                                          {"t02", 0, reading(-40.0), true},
                                          {"t03", 1, reading(-20.0), true},
                                          {"t04", 1, reading(-26.0), true}};
  const LevelCorrections corrections = level_corrections(takes);
  REQUIRE(corrections.takes.size() == 4);
  CHECK(corrections.takes[0].correction_db == doctest::Approx(0.0));
  CHECK(corrections.takes[0].sd_db == doctest::Approx(0.1));
  // 10 lg((10⁻² + 10⁻²·⁶)/2) = −22.03
  CHECK(corrections.takes[2].correction_db == doctest::Approx(-2.04).epsilon(0.01));
  CHECK(corrections.takes[3].correction_db == doctest::Approx(3.96).epsilon(0.01));
}

TEST_CASE("a correction is doubtful as far as the probe hears something else (GUM 4.3.7)") {
  ReferenceReading half{-40.0, 0.0, 0.5, true};
  ReferenceReading other{-52.0, 0.0, 1.0, true};
  const std::vector<ReferencedTake> takes{{"t01", 0, half, true}, {"t02", 0, other, true}};
  const LevelCorrections corrections = level_corrections(takes);
  const double correction = corrections.takes[0].correction_db;
  CHECK(corrections.takes[0].sd_db == doctest::Approx(0.5 * std::abs(correction) / std::sqrt(3.0)));
  CHECK(corrections.takes[1].sd_db == doctest::Approx(0.0));
}

TEST_CASE("a reference that records the probe itself is not used, and that is told") {
  // 'b' is 12 dB quieter than 'a'; corrected by themselves the two would be alike.
  const auto doubled = [](const std::string& id, const std::string& point, double level_db,
                          double gain_db, std::uint64_t seed) {
    const auto sound = with(hiss(kEightSeconds, -60.0, seed), tone(kEightSeconds, 300.0, level_db));
    std::vector<float> copy(kEightSeconds);
    return hold_of(id, point, sound, with(copy, sound, gain_db));
  };
  for (const double gain_db : {0.0, -9.0}) {
    CAPTURE(gain_db);
    const Analysis analysis =
        analysed({doubled("t01", "a", -34.0, gain_db, 1), doubled("t02", "b", -46.0, gain_db, 2)},
                 kHowlBand);
    CHECK(analysis.ranking.front().point == "a");
    CHECK(*analysis.ranking[1].below_loudest_db == doctest::Approx(12.0).epsilon(0.05));
    CHECK_FALSE(analysis.ranking.front().coherent_level_db);
    for (const TakeResult& take : analysis.takes) {
      CHECK_FALSE(take.reference);
      CHECK(warned(warning_texts(take.quality), "the probe's own sound"));
    }
  }
  // One such take among good ones: none is corrected, and a warning names it.
  const Analysis mixed = analysed(
      {heard_by_both("t01", "a", -46.0, 0.0, 1), doubled("t02", "b", -34.0, 0.0, 2)}, kHowlBand);
  CHECK(warned(mixed.warnings, "t02 has no usable reference channel and others have"));
  CHECK(mixed.takes[0].reference);
  CHECK(warning_texts(mixed.takes[0].quality).empty());
}
