#include "src/listen/render.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "src/errors.h"
#include "src/keeping/add_take.h"
#include "src/listen/same_speed.h"
#include "tests/src/scratch_folder.h"
#include "tests/src/sound_files.h"

using namespace howl;
using namespace howl::test;

namespace {

constexpr int kTakenAt = 16'000;
constexpr double howl_peak = 0.2;   // order 10 at 1500 rpm: 250 Hz
constexpr double other_peak = 0.1;  // 700 Hz

/// A case with one take of both tones, 6 s long.
struct TwoTones {
  ScratchFolder scratch;
  std::filesystem::path folder = scratch / "case";
  Take take;

  TwoTones() {
    Case value;
    value.title = "two tones";
    value.profile = "blank-four-stroke";
    value.points = {{.name = "pan", .description = ""}};
    create_case(folder, value);
    std::vector<double> samples(6 * kTakenAt);
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const double t = 2 * std::numbers::pi * static_cast<double>(i) / kTakenAt;
      samples[i] = howl_peak * std::sin(250 * t) + other_peak * std::sin(700 * t);
    }
    NewTake request{.recording = write_sound(scratch / "two.wav", samples, {.rate = kTakenAt}),
                    .log = std::nullopt,
                    .take = {}};
    request.take.point = "pan";
    request.take.speed = EnteredSpeed{Rpm(1500.0)};
    take = add_take(folder, request).take;
  }

  HearingRequest request(Heard heard) const {
    HearingRequest wanted{.heard = heard, .range_s = {1.0, 5.0}, .band = std::nullopt, .tone = {}};
    wanted.tone.orders = {Order(10.0)};
    wanted.rate = kTakenAt;
    return wanted;
  }
  std::vector<float> heard(const HearingRequest& wanted) const {
    std::vector<float> made;
    render_heard(folder, take, 4, wanted, [&](std::span<const float> samples) {
      made.insert(made.end(), samples.begin(), samples.end());
    });
    return made;
  }
};

/// Peak amplitude at a frequency, in the middle half.
double amplitude(const std::vector<float>& samples, double hz, double at_rate = kTakenAt) {
  std::complex<double> sum;
  double weights = 0;
  const std::size_t from = samples.size() / 4;
  const std::size_t count = samples.size() / 2;
  for (std::size_t i = 0; i < count; ++i) {
    const double share = (static_cast<double>(i) + 0.5) / static_cast<double>(count);
    const double w = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * share);
    sum += w * static_cast<double>(samples[from + i]) *
           std::polar(1.0, -2 * std::numbers::pi * hz * static_cast<double>(i) / at_rate);
    weights += w;
  }
  return 2 * std::abs(sum) / weights;
}

constexpr AnalysisRequest::Band in_orders{AnalysisRequest::Band::Unit::order, {9.5, 10.5}};

}  // namespace

TEST_CASE("listening: a take is heard as it is, sample for sample") {
  const TwoTones tones;
  const auto made = tones.heard(tones.request(Heard::take));
  REQUIRE(made.size() == 4 * kTakenAt);
  CHECK(amplitude(made, 250) == doctest::Approx(howl_peak).epsilon(0.002));
  CHECK(amplitude(made, 700) == doctest::Approx(other_peak).epsilon(0.002));
  CHECK(std::abs(made[0]) < 1e-3F);  // after 1 s both tones are where they began
}

TEST_CASE(
    "listening: the suspect band lets its tone through and nothing else, in Hz and in orders") {
  const TwoTones tones;
  HearingRequest wanted = tones.request(Heard::band);
  for (const auto& band :
       {in_orders, AnalysisRequest::Band{AnalysisRequest::Band::Unit::hertz, {230, 270}}}) {
    wanted.band = band;
    const auto made = tones.heard(wanted);
    REQUIRE(made.size() == 4 * kTakenAt);
    CHECK(amplitude(made, 250) == doctest::Approx(howl_peak).epsilon(0.01));
    CHECK(amplitude(made, 700) < 0.001 * other_peak);
  }
}

TEST_CASE("listening: one order alone, and the take without it") {
  const TwoTones tones;
  const auto alone = tones.heard(tones.request(Heard::tone));
  REQUIRE(alone.size() == 4 * kTakenAt);
  CHECK(amplitude(alone, 250) == doctest::Approx(howl_peak).epsilon(0.01));
  CHECK(amplitude(alone, 700) < 0.01 * other_peak);
  const auto without = tones.heard(tones.request(Heard::without));
  CHECK(amplitude(without, 250) < 0.01 * howl_peak);
  CHECK(amplitude(without, 700) == doctest::Approx(other_peak).epsilon(0.01));
}

TEST_CASE("listening: slower and at the device's rate, with the same pitch") {
  const TwoTones tones;
  HearingRequest wanted = tones.request(Heard::take);
  wanted.slowness = 4;
  wanted.rate = 44'100;
  const auto made = tones.heard(wanted);
  CHECK(made.size() == heard_samples(wanted));
  CHECK(made.size() == 4 * 4 * 44'100);
  CHECK(amplitude(made, 250, 44'100) == doctest::Approx(howl_peak).epsilon(0.01));
  CHECK(amplitude(made, 700, 44'100) == doctest::Approx(other_peak).epsilon(0.02));
}

TEST_CASE("listening: the level in a band, for matching") {
  const TwoTones tones;
  // A sine of peak A has the mean square A²/2.
  CHECK(heard_power(tones.folder, tones.take, 4, {1.0, 5.0}, in_orders) ==
        doctest::Approx(0.5 * howl_peak * howl_peak).epsilon(0.01));
  CHECK(heard_power(tones.folder, tones.take, 4, {1.0, 5.0}, std::nullopt) ==
        doctest::Approx(0.5 * (howl_peak * howl_peak + other_peak * other_peak)).epsilon(0.01));
}

TEST_CASE(
    "listening: what is heard is no longer than is prepared, and no shorter than can be heard") {
  CHECK(heard_range({10, 20}, 3600, 1) == Interval{10, 20});
  CHECK(heard_range({10, 3600}, 3600, 1) == Interval{10, 190});
  CHECK(heard_range({10, 3600}, 3600, 4) == Interval{10, 55});
  CHECK(heard_range({9.99, 10}, 10, 1).width() == doctest::Approx(0.05));
  CHECK(heard_range({5, 12}, 10, 1) == Interval{5, 10});
}

TEST_CASE("listening: it can be broken off while it is made") {
  const TwoTones tones;
  struct Stop {};
  CHECK_THROWS_AS(render_heard(tones.folder, tones.take, 4, tones.request(Heard::tone),
                               [](std::span<const float>) { throw Stop{}; }),
                  Stop);
}

TEST_CASE("listening: an order with the engine off is refused in words") {
  TwoTones tones;
  tones.take.speed = EngineOff{};
  HearingRequest wanted = tones.request(Heard::band);
  wanted.band = in_orders;
  CHECK_THROWS_AS(tones.heard(wanted), Error);
  CHECK_THROWS_AS(tones.heard(tones.request(Heard::tone)), Error);
}

TEST_CASE("listening: two takes are lined up where their engines ran alike") {
  TakeAudio rising;
  rising.seconds = 10;
  rising.speed = SpeedCurve::through(
      std::vector<SpeedPoint>{{Seconds(0), Rpm(1000)}, {Seconds(10), Rpm(3000)}}, 0.01);
  TakeAudio later = rising;  // two seconds at idle before it rises as fast
  later.seconds = 12;
  later.speed = SpeedCurve::through(
      std::vector<SpeedPoint>{
          {Seconds(0), Rpm(1000)}, {Seconds(2), Rpm(1000)}, {Seconds(12), Rpm(3000)}},
      0.01);
  const RangePair pair = same_speed_ranges(rising, {3, 6}, later);  // 1600 rpm at 3 s: 5 s there
  CHECK(pair.take == Interval{3, 6});
  CHECK(pair.other.low == doctest::Approx(5).epsilon(0.01));
  CHECK(pair.other.width() == doctest::Approx(3));
  TakeAudio hold;
  hold.seconds = 4;
  const RangePair holds = same_speed_ranges(hold, {1, 4}, hold);
  CHECK(holds.other == Interval{1, 4});
  TakeAudio brief = hold;
  brief.seconds = 2;
  const RangePair fit = same_speed_ranges(hold, {1, 4}, brief);
  CHECK(fit.take == Interval{1, 3});
  CHECK(fit.other == Interval{0, 2});
}
