#include "src/analysis/impacts.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "dsp/noise_floor.h"
#include "src/analysis/engine_grid.h"
#include "src/analysis/strike_lines.h"
#include "tests/src/analysis/impact_scene.h"

using namespace howl;

namespace {

std::vector<StrikeSighting> strikes_of(const test::ImpactScene& scene, std::uint64_t seed) {
  return survey_strikes(test::impact_take(scene, seed), 0);
}

StrikeSighting sighting(std::size_t take, double order, double sigma, int harmonics) {
  StrikeSighting s;
  s.take = take;
  s.band_hz = {3000.0, 4000.0};
  s.order = order;
  s.sigma = sigma;
  s.harmonics = harmonics;
  s.modulation_depth = 0.4;
  s.false_alarm = 1e-5;
  return s;
}

TakeAudio hold_at(const std::string& id, double rpm) {
  TakeAudio take;
  take.id = id;
  take.seconds = 5.0;
  take.speed = SpeedCurve::constant(Rpm(rpm), 0.005);
  return take;
}

ToneResult tone_at(const std::string& id, double order, double hertz) {
  ToneResult tone;
  tone.id = id;
  tone.order = order;
  tone.frequency_hz = {hertz, hertz};
  return tone;
}

bool mentions(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

struct PlantedLine {
  double order{};
  double height{8.0};  ///< over the noise
};

/// Noise of 20 averages with lines in it.
PowerSpectrum envelope_spectrum(const std::vector<PlantedLine>& lines) {
  constexpr double averages = 20.0;
  Random random(4);
  PowerSpectrum spectrum{.spacing = 1.0 / 32.0,
                         .window = WindowKind::hann,
                         .noise_bandwidth_bins = 1.5,
                         .effective_averages = averages,
                         .power = {}};
  for (std::size_t k = 0; k < 1300; ++k) {
    double power = draw_chi_square(random, 2.0 * averages) / (2.0 * averages);
    for (const auto& [order, height] : lines) {
      const double off = 32.0 * order - static_cast<double>(k);
      if (std::abs(off) < 2.0) power += height * std::pow(main_lobe(WindowKind::hann, off), 2);
    }
    spectrum.power.push_back(power);
  }
  return spectrum;
}

StrikeParameters off_half_orders() {
  StrikeParameters parameters;
  parameters.orders = {0.6, 35.0};
  parameters.may_count = [](double order, double width) {
    return std::abs(order - 0.5 * std::round(2.0 * order)) > 2.5 * width;
  };
  parameters.lines_looked_at = 2000.0;
  return parameters;
}

std::vector<StrikeFamily> families_in(const std::vector<PlantedLine>& lines) {
  const PowerSpectrum spectrum = envelope_spectrum(lines);
  return find_strikes(spectrum, noise_floor(spectrum, 3.0), off_half_orders());
}

}  // namespace

TEST_CASE("blows in a hold are found, with an interval that holds their order") {
  const auto strikes = strikes_of({.strike_order = 3.58, .strike_db = -3.0}, 11);
  REQUIRE(strikes.size() == 1);
  CHECK(std::abs(strikes.front().order - 3.58) < 1.96 * strikes.front().sigma);
  CHECK(strikes.front().sigma < 0.01 * 3.58);
  CHECK(strikes.front().harmonics >= 3);
  CHECK(strikes.front().false_alarm < 1e-4);
  CHECK(strikes.front().band_hz.low < 4600.0);
  CHECK(strikes.front().band_hz.high > 3400.0);
}

TEST_CASE("blows in a sweep with a late log are found") {
  const auto strikes = strikes_of({.sweep = true, .strike_order = 6.717, .strike_db = -3.0}, 12);
  REQUIRE(!strikes.empty());
  CHECK(std::abs(strikes.front().order - 6.717) < 1.96 * strikes.front().sigma);
  CHECK(strikes.front().harmonics >= 2);
}

TEST_CASE("blows beside a half order are told at their own order, not at a multiple of it") {
  for (const test::ImpactScene& scene :
       {test::ImpactScene{.strike_order = 4.04, .strike_db = -3.0},
        test::ImpactScene{.sweep = true, .strike_order = 4.04, .strike_db = -3.0},
        test::ImpactScene{.sweep = true, .strike_order = 7.04, .strike_db = -3.0}}) {
    const auto strikes = strikes_of(scene, 17);
    REQUIRE(strikes.size() == 1);
    CHECK(std::abs(strikes.front().order - *scene.strike_order) < 2.5 * strikes.front().sigma);
    CHECK(strikes.front().harmonics >= 2);
  }
}

TEST_CASE("blows that come and go with a shaft show the shaft's order") {
  const auto strikes = strikes_of(
      {.rpm = 1200.0, .seconds = 14.0, .strike_order = 6.75, .strike_db = 3.0, .swell_order = 1.45},
      13);
  const auto blows = std::find_if(strikes.begin(), strikes.end(), [](const StrikeSighting& s) {
    return std::abs(s.order - 6.75) < 0.03;
  });
  REQUIRE(blows != strikes.end());
  REQUIRE(blows->sideband_order.has_value());
  CHECK(*blows->sideband_order == doctest::Approx(1.45).epsilon(0.02));
}

TEST_CASE("an engine in which nothing strikes shows nothing") {
  for (std::uint64_t seed = 20; seed < 26; ++seed) CHECK(strikes_of({}, seed).empty());
}

TEST_CASE("a howl whose harmonics beat with each other and with the engine shows no blows") {
  const std::vector<double> orders{5.23, 10.13, 11.61, 12.35, 13.83};
  for (std::size_t i = 0; i < orders.size(); ++i)
    CHECK(strikes_of({.rpm = 2500.0, .howl_order = orders[i]}, 40 + i).empty());
  CHECK(strikes_of({.sweep = true, .howl_order = 7.73}, 45).empty());
}

TEST_CASE("blows at the order of a howl are found in what rings") {
  for (const bool sweep : {false, true}) {
    const auto strikes = strikes_of(
        {.sweep = sweep, .strike_order = 6.717, .strike_db = -3.0, .howl_order = 6.717}, 46);
    REQUIRE(!strikes.empty());
    CHECK(std::abs(strikes.front().order - 6.717) < 2.5 * strikes.front().sigma);
    CHECK(strikes.front().harmonics >= 2);
  }
}

TEST_CASE("blows at a half order are the engine's own and not told") {
  CHECK(strikes_of({.strike_order = 4.0, .strike_db = 0.0}, 14).empty());
}

TEST_CASE("a take of too few revolutions shows nothing") {
  CHECK(strikes_of({.seconds = 1.5, .strike_order = 3.58, .strike_db = 6.0}, 15).empty());
}

TEST_CASE("the engine's half orders put an entered speed right") {
  TakeAudio take = test::impact_take({}, 30);
  const double truth = 1500.0;  // its jitter averages out to less than 0.2 %
  take.speed = SpeedCurve::constant(Rpm(1.008 * truth), 0.005);
  const EngineGrid grid = engine_grid(take);
  CHECK(grid.measured);
  CHECK(grid.speed.at(Seconds(4.0)).value == doctest::Approx(truth).epsilon(0.002));
  CHECK(grid.sigma < 0.002);
}

TEST_CASE("without an engine to be heard the speed stays as it was written down") {
  TakeAudio take = test::impact_take({}, 31);
  Random random(1);
  const auto noise = synth_noise(128000, 0.1, random);
  take.stream = [&noise](const std::function<void(std::span<const float>)>& to) { to(noise); };
  const EngineGrid grid = engine_grid(take);
  CHECK_FALSE(grid.measured);
  CHECK(grid.sigma == doctest::Approx(0.005));
  // Half a per cent lets no order above 10 be told from a half order.
  CHECK(grid.clear_of_half_orders(3.75, 1.0 / 32.0));
  CHECK_FALSE(grid.clear_of_half_orders(13.75, 1.0 / 32.0));
}

TEST_CASE("lines of an envelope spectrum are grouped into families") {
  SUBCASE("multiples of one base are one family") {
    const auto families = families_in({{3.58}, {7.16}, {10.74}, {14.32}});
    REQUIRE(families.size() == 1);
    CHECK(families.front().order == doctest::Approx(3.58).epsilon(0.003));
    CHECK(families.front().harmonics >= 4);
  }
  SUBCASE("two bases are two families") {
    const auto families = families_in({{3.58}, {7.16}, {5.41}, {10.82}});
    REQUIRE(families.size() == 2);
  }
  SUBCASE("lines on either side of a base are its sidebands") {
    const auto families = families_in({{13.76, 20.0}, {11.16, 6.0}, {16.36, 6.0}});
    REQUIRE(families.size() == 1);
    REQUIRE(families.front().sideband_order.has_value());
    CHECK(*families.front().sideband_order == doctest::Approx(2.6).epsilon(0.01));
  }
  SUBCASE("noise and the engine's lines make none") {
    CHECK(families_in({{2.0, 50.0}, {4.0, 50.0}, {6.0, 50.0}, {8.5, 50.0}}).empty());
  }
}

TEST_CASE("a base beside a half order is known by its own line, or by its odd multiples") {
  SUBCASE("its own line and one multiple") {
    const auto families = families_in({{4.06}, {8.12}});
    REQUIRE(families.size() == 1);
    CHECK(families.front().order == doctest::Approx(4.06).epsilon(0.003));
    CHECK(families.front().harmonics == 2);
  }
  SUBCASE("the first multiple that stands clear is the third") {
    const auto families = families_in({{7.045}, {14.09, 0.0}, {21.135}});
    REQUIRE(families.size() == 1);
    CHECK(families.front().order == doctest::Approx(7.045).epsilon(0.003));
    CHECK(families.front().harmonics == 2);
  }
  SUBCASE("hidden by a louder line of the engine's") {
    const auto families = families_in({{4.0, 50.0}, {8.12}, {12.18}});
    REQUIRE(families.size() == 1);
    CHECK(families.front().order == doctest::Approx(4.06).epsilon(0.003));
    CHECK(families.front().harmonics == 2);
  }
  SUBCASE("no base where only the engine is") {
    const auto families = families_in({{4.0, 50.0}, {8.12}, {16.24}});
    REQUIRE(families.size() == 1);
    CHECK(families.front().order == doctest::Approx(8.12).epsilon(0.003));
  }
  SUBCASE("no base where nothing is") { CHECK(families_in({{8.12}, {12.18}}).size() == 2); }
}

TEST_CASE("strikes of like order in several takes are one impact") {
  const std::vector<TakeAudio> takes{hold_at("t01", 1500.0), hold_at("t02", 2400.0),
                                     hold_at("t03", 1500.0)};
  const auto impacts = impact_results(
      {sighting(0, 13.70, 0.02, 3), sighting(1, 13.76, 0.02, 2), sighting(2, 5.42, 0.01, 1)}, takes,
      {});
  REQUIRE(impacts.size() == 2);
  const ImpactResult& both = impacts[0];
  CHECK(both.id == "impact1");
  CHECK(both.takes == std::vector<std::string>{"t01", "t02"});
  CHECK(both.order == doctest::Approx(13.73));
  CHECK(both.order_ci95.low < 13.70);  // a belt's slip, not error: the interval covers both
  CHECK(both.order_ci95.high > 13.76);
  CHECK(both.rpm_span.low == 1500.0);
  CHECK(both.rpm_span.high == 2400.0);
  CHECK(both.frequency_hz.low == doctest::Approx(13.73 * 25.0));
  CHECK(mentions(both.meaning, "strikes 13.73 times a crank turn"));
  CHECK(mentions(both.meaning, "rolling element"));
  CHECK_FALSE(mentions(both.advice, "one speed"));
  CHECK(impacts[1].takes == std::vector<std::string>{"t03"});
}

TEST_CASE("one line in one hold names no bearing, and says that one speed shows no lock") {
  const auto impacts = impact_results({sighting(0, 5.42, 0.03, 1)}, {hold_at("t01", 1500.0)}, {});
  REQUIRE(impacts.size() == 1);
  CHECK(mentions(impacts[0].meaning, "may be a multiple of slower ones"));
  CHECK(mentions(impacts[0].meaning, "names no bearing"));
  CHECK_FALSE(mentions(impacts[0].meaning, "something strikes"));
  CHECK(mentions(impacts[0].advice, "one speed cannot show"));
}

TEST_CASE(
    "a swell that two tones make by beating is no impact; a tone of the same order is named") {
  const std::vector<TakeAudio> takes{hold_at("t01", 1500.0)};
  const std::vector<ToneResult> tones{tone_at("tone1", 130.0, 3250.0),
                                      tone_at("tone2", 135.42, 3385.5)};
  CHECK(impact_results({sighting(0, 5.42, 0.02, 1)}, takes, tones).empty());
  CHECK(impact_results({sighting(0, 5.42, 0.02, 3)}, takes, tones).size() == 1);
  const auto impacts =
      impact_results({sighting(0, 5.42, 0.02, 3)}, takes, {tone_at("tone1", 5.43, 135.7)});
  REQUIRE(impacts.size() == 1);
  CHECK(impacts[0].tone == std::optional<std::string>("tone1"));
  CHECK(mentions(impacts[0].meaning, "tone1 has the same order"));
}
