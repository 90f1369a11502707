#include "src/analysis/masked_takes.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "dsp/statistics.h"
#include "src/analysis/analyse.h"
#include "tests/src/analysis/synth_takes.h"

using namespace howl;
using namespace howl::test;

namespace {

constexpr double kHowlOrder = 10.15;
constexpr double kHowlDb = -30.0;

/// Engine orders that fall by 0.8 dB an order, the uneven half orders 18 dB lower; and a howl 1.5 %
/// above the firing order 10, which is at -37 dB.
std::vector<float> engine_and_howl(const std::vector<double>& rpm, double howl_db,
                                   std::uint64_t seed) {
  std::vector<float> samples = hiss(rpm.size(), -62.0, seed);
  const auto add = [&](double order, double level_db) {
    std::vector<double> hertz;
    for (const double n : rpm) hertz.push_back(order * n / 60.0);
    synth_add(samples, synth_tone(hertz, kTakeRate, amplitude_of(level_db), order), 1.0);
  };
  for (double order = 1.0; order <= 16.0; order += 0.5)
    add(order, -29.0 - 0.8 * order - (std::fmod(order, 2.0) == 0.0 ? 0.0 : 18.0));
  add(kHowlOrder, howl_db);
  return samples;
}

TakeAudio hold_with_howl(const std::string& id, const std::string& point, double rpm,
                         double howl_db, std::uint64_t seed) {
  const std::vector<double> speed(static_cast<std::size_t>(6.0 * kTakeRate), rpm);
  TakeAudio take = hold_of(id, point, engine_and_howl(speed, howl_db, seed));
  take.speed = SpeedCurve::constant(Rpm(rpm), 0.005);
  return take;
}

TakeAudio sweep_with_howl(const std::string& id, const std::string& point) {
  constexpr double seconds = 15.0;
  std::vector<double> rpm(static_cast<std::size_t>(seconds * kTakeRate));
  for (std::size_t i = 0; i < rpm.size(); ++i)
    rpm[i] = 1000.0 + 1500.0 * static_cast<double>(i) / static_cast<double>(rpm.size());
  TakeAudio take = hold_of(id, point, engine_and_howl(rpm, kHowlDb, 99));
  const std::vector<SpeedPoint> ramp{{Seconds(0.0), Rpm(1000.0)}, {Seconds(seconds), Rpm(2500.0)}};
  take.speed = SpeedCurve::through(ramp, 0.01);
  take.lag_sigma = 0.3;
  return take;
}

/// Four points twice; at all but the first the engine's line is the stronger of the two.
std::vector<TakeAudio> takes_of_two_lines() {
  const std::vector<std::pair<std::string, double>> below{
      {"differential", 0.0}, {"tail", 10.0}, {"gearbox", 16.0}, {"bell", 22.0}};
  std::vector<TakeAudio> takes;
  for (int repeat = 0; repeat < 2; ++repeat)
    for (const auto& [point, db] : below) {
      const auto number = takes.size() + 1;
      takes.push_back(
          hold_with_howl(fmt::format("t{:02}", number), point, 1800.0, kHowlDb - db, number));
    }
  takes.push_back(hold_with_howl("t09", "differential", 1200.0, kHowlDb, 9));
  takes.push_back(hold_with_howl("t10", "differential", 2500.0, kHowlDb, 10));
  takes.push_back(sweep_with_howl("t11", "differential"));
  return takes;
}

const ToneResult* tone_lying_near(const Analysis& analysis, double order) {
  for (const ToneResult& tone : analysis.tones)
    if (tone.order && std::abs(*tone.order / order - 1.0) < 0.01) return &tone;
  return nullptr;
}

}  // namespace

TEST_CASE("a howl 1.5 % beside a firing order keeps its own order, and ranks by its own line") {
  const Analysis analysis =
      analyse_takes(takes_of_two_lines(), 4, {}, [](double, std::string_view) {});
  const ToneResult* const howl = tone_lying_near(analysis, kHowlOrder);
  REQUIRE(howl != nullptr);
  CHECK(*howl->order == doctest::Approx(kHowlOrder).epsilon(0.003));
  CHECK(howl->order_ci95->contains(kHowlOrder));
  CHECK(&analysis.tones.front() == howl);
  for (const TrackPoint& p : howl->track) {
    CAPTURE(p.take);
    CHECK(60.0 * p.frequency_hz / p.rpm == doctest::Approx(kHowlOrder).epsilon(0.003));
  }
  REQUIRE(analysis.ranking.size() == 4);
  CHECK(analysis.ranking.front().point == "differential");
  CHECK_FALSE(analysis.ranking.front().upper_bound);
  for (const RankedPoint& point : analysis.ranking) {
    if (point.point == "differential") continue;
    CAPTURE(point.point);
    CHECK(point.upper_bound);
    // The engine's line, 7 dB below the howl, is louder than the howl there; its level bounds it.
    CHECK(*point.below_loudest_db > 5.0);
    CHECK(*point.below_loudest_db < 22.0);
    CHECK(warned(point.warnings, "covers the tone here"));
  }
}

TEST_CASE("a take is masked where the engine's line in the band is the stronger, and only there") {
  const auto point_in = [](const std::string& take, double order, double level_db) {
    return TrackPoint{1.0, 1800.0, order * 30.0, 0.01, take, level_db};
  };
  ToneResult howl;
  howl.track = {point_in("t1", 10.15, -30.0), point_in("t2", 10.15, -40.0)};
  ToneResult engine;
  engine.combustion = true;
  engine.track = {point_in("t1", 10.0, -34.0), point_in("t2", 10.0, -34.0),
                  point_in("t3", 10.0, -34.0), point_in("t4", 12.0, -20.0)};
  std::vector<TakeAudio> takes;
  for (const char* id : {"t1", "t2", "t3", "t4"})
    takes.push_back(hold_of(id, "p", std::vector<float>(8000, 0.0F)));
  const AnalysisRequest::Band band{AnalysisRequest::Band::Unit::order, {9.8, 10.5}};
  std::vector<ToneResult> tones{howl, engine};
  CHECK(masked_takes(takes, tones.front(), tones, band) ==
        std::vector<bool>{false, true, true, false});
  tones.back().combustion = false;  // what is not the engine's may be the howl in another place
  CHECK(masked_takes(takes, tones.front(), tones, band) == std::vector<bool>(4, false));
}
