#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <numbers>
#include <set>
#include <span>
#include <string>

#include "dsp/spectrum.h"
#include "src/analysis/impacts.h"
#include "src/demo/demo_cases.h"
#include "src/demo/demo_take.h"
#include "src/demo/recipe.h"
#include "src/errors.h"
#include "src/keeping/check_case.h"
#include "tests/src/scratch_folder.h"

using namespace howl;

namespace {

/// Two points, next to no noise, a steady hand, a sensor that resonates far above: levels and
/// orders can be read off exactly. Takes 1 and 2 at 1500 rpm, 3 with load, 4 a sweep with tacho, 5
/// logged.
std::string small_recipe(const std::string& source) {
  return R"(
title = "Test"
profile = "blank-four-stroke"
complaint = "none"
seed = 5
sample_rate = 16000

[truth]
source = "tone"
component = "thing"
fault = "worn"

[[points]]
name = "near"
where = "here"
[[points]]
name = "far"
where = "there"

[engine]
cylinders = 4
level_db = -100
below_db = { near = 0, far = 0 }

[background]
level_db = -110
clatter_db = -120
below_db = { near = 0, far = 0 }

[recording]
hand_pressure_sd_db = 0
sensor_resonance_hz = 7800
sensor_damping = 0.5
self_noise_db = -120

[[sources]]
name = "tone"
)" + source +
         R"(
level_db = -20
below_db = { near = 0, far = 6 }
when = [ { load = { pump = "loaded" }, level_db = 8, slip = 0.004 } ]

[[takes]]
points = ["near", "far"]
hold = 1500
seconds = 4

[[takes]]
points = ["near"]
hold = 1500
seconds = 4
load = { pump = "loaded", other = "thing" }

[[takes]]
points = ["near"]
ramp = [[0, 900], [4, 2100]]
speed = "tacho"
pulses_per_revolution = 2

[[takes]]
points = ["near"]
ramp = [[0, 2100], [4, 900]]
speed = "log"
)";
}

const std::string crank_source = "kind = \"crank\"\norder = 11";
const std::string belt_source =
    "kind = \"belt\"\nratio = 1.2\nper_turn = 10\nslip = { low = 0.01, high = 0.01 }";

/// Amplitude of what is locked to the true crankshaft angle at `order`.
double amplitude_at_order(const DemoTake& take, double order) {
  std::complex<double> sum;
  for (std::size_t n = 0; n < take.samples.size(); ++n) {
    const double turns =
        take.truth.revolutions_at(Seconds(static_cast<double>(n) / take.sample_rate));
    sum += static_cast<double>(take.samples[n]) *
           std::polar(1.0, -2.0 * std::numbers::pi * order * turns);
  }
  return 2.0 * std::abs(sum) / static_cast<double>(take.samples.size());
}

double db(double amplitude) { return 20.0 * std::log10(amplitude); }

std::string replaced(std::string text, const std::string& what, const std::string& with) {
  const std::size_t at = text.find(what);
  REQUIRE(at != std::string::npos);
  return text.replace(at, what.size(), with);
}

std::string error_of(const std::string& toml) {
  try {
    parse_recipe(toml, "broken");
  } catch (const Error& error) {
    CHECK(error.fault() == Fault::file);
    return error.what();
  }
  return "no error";
}

using test::ScratchFolder;

nlohmann::json read_json(const std::filesystem::path& file) {
  std::ifstream in(file);
  return nlohmann::json::parse(in);
}

}  // namespace

TEST_CASE("demo: the built-in recipes are sound and each about another fault") {
  const std::vector<Recipe> recipes = embedded_recipes();
  CHECK(recipes.size() >= 4);
  std::set<std::string> components;
  for (const Recipe& recipe : recipes) {
    CAPTURE(recipe.name);
    components.insert(recipe.truth.component);
    CHECK(recipe.points.size() >= 4);
    CHECK(recipe.points.size() <= 6);
    // What settles pitch against speed, and what ranks points: a sweep, several speeds, repeats.
    std::set<double> speeds;
    bool sweep = false;
    std::map<double, std::map<std::string, int>> repeats;
    double seconds = 0.0;
    for (const RecipeTakes& takes : recipe.takes) {
      sweep = sweep || takes.speed.size() > 1;
      if (takes.speed.size() == 1) speeds.insert(takes.speed[0].speed.value);
      if (takes.speed.size() == 1 && !takes.background)
        for (const std::string& point : takes.points)
          repeats[takes.speed[0].speed.value][point] += takes.repeats;
      seconds += takes.seconds * takes.repeats * static_cast<double>(takes.points.size());
    }
    CHECK(sweep);
    CHECK(std::ranges::any_of(repeats, [&](const auto& at_speed) {
      return at_speed.second.size() == recipe.points.size() &&
             std::ranges::all_of(at_speed.second, [](const auto& p) { return p.second > 1; });
    }));
    CHECK(speeds.size() >= 2);
    CHECK(seconds <= 150.0);
  }
  CHECK(components.size() == recipes.size());
}

TEST_CASE("demo: no built-in take clips unless the recipe says so") {
  for (const Recipe& recipe : embedded_recipes()) {
    const std::vector<PlannedTake> plan = planned_takes(recipe);
    // The loudest take of a recipe is a sweep or the fastest hold; look at each entry's first.
    for (std::size_t i = 0; i < plan.size(); ++i) {
      if (i > 0 && plan[i].entry == plan[i - 1].entry) continue;
      CAPTURE(recipe.name);
      CAPTURE(i);
      const DemoTake take = synthesise_take(recipe, i, recipe.seed);
      float peak = 0.0F;
      for (const float x : take.samples) peak = std::max(peak, std::abs(x));
      CHECK((peak >= 1.0F) == (recipe.takes[plan[i].entry].gain_db > 0.0));
      CHECK(peak > 0.005F);
    }
  }
}

TEST_CASE("demo: a crank-driven tone is at its exact order, with the levels of the recipe") {
  const Recipe recipe = parse_recipe(small_recipe(crank_source), "small");
  REQUIRE(planned_takes(recipe).size() == 5);
  const DemoTake near = synthesise_take(recipe, 0, 1);
  const DemoTake far = synthesise_take(recipe, 1, 1);
  const DemoTake loaded = synthesise_take(recipe, 2, 1);
  // The sensor at 7.8 kHz adds (1 − (275/7800)²)⁻¹ = 0.01 dB at 275 Hz.
  CHECK(db(amplitude_at_order(near, 11.0)) == doctest::Approx(-20.0).epsilon(0.002));
  CHECK(db(amplitude_at_order(far, 11.0)) == doctest::Approx(-26.0).epsilon(0.002));
  CHECK(db(amplitude_at_order(loaded, 11.0)) == doctest::Approx(-12.0).epsilon(0.003));
  CHECK(db(amplitude_at_order(near, 11.1)) < -35.0);
  CHECK_FALSE(near.slip.has_value());
}

TEST_CASE("demo: a belt-driven tone is at ratio times vanes, less the slip, more under load") {
  const Recipe recipe = parse_recipe(small_recipe(belt_source), "small");
  const DemoTake free = synthesise_take(recipe, 0, 1);
  // 1.2 · 10 · (1 − 0.01) = 11.88; under load slip 0.014: 11.832.
  CHECK(db(amplitude_at_order(free, 11.88)) == doctest::Approx(-20.0).epsilon(0.002));
  CHECK(free.slip == Interval{0.01, 0.01});
  const DemoTake loaded = synthesise_take(recipe, 2, 1);
  CHECK(db(amplitude_at_order(loaded, 11.832)) == doctest::Approx(-12.0).epsilon(0.003));
  REQUIRE(loaded.slip.has_value());
  CHECK(loaded.slip->low == doctest::Approx(0.014));
}

TEST_CASE("demo: what strikes rings at its pitch, as strongly as the recipe says") {
  const std::string striking =
      "kind = \"crank\"\norder = 11.3\nblows = { level_db = -6, ring_hz = 3000, damping = 0.03 }";
  const Recipe recipe = parse_recipe(small_recipe(striking), "small");
  const DemoTake take = synthesise_take(recipe, 0, 1);
  CHECK(db(amplitude_at_order(take, 11.3)) == doctest::Approx(-20.0).epsilon(0.01));

  // 26 dB below a full-scale sine, whose mean square is 1/2. A few per cent of it lie beyond the
  // band: a ring of damping 0.03 passes what is far below it as it is.
  const double power =
      band_power(welch_spectrum(take.samples, take.sample_rate, {WindowKind::hann, 2048, 1024}),
                 1500.0, 6000.0);
  CHECK(10.0 * std::log10(2.0 * power) == doctest::Approx(-26.0).epsilon(0.01));

  TakeAudio audio;
  audio.sample_rate = take.sample_rate;
  audio.seconds = 4.0;
  audio.speed = take.truth;
  audio.stream = [&take](const auto& hear) { hear(std::span<const float>(take.samples)); };
  const std::vector<StrikeSighting> strikes = survey_strikes(audio, 0);
  REQUIRE(!strikes.empty());
  CHECK(strikes.front().order == doctest::Approx(11.3).epsilon(0.005));
}

TEST_CASE("demo: the same seed gives the same take, another seed another") {
  const Recipe recipe = parse_recipe(small_recipe(crank_source), "small");
  CHECK(synthesise_take(recipe, 0, 9).samples == synthesise_take(recipe, 0, 9).samples);
  CHECK(synthesise_take(recipe, 0, 9).samples != synthesise_take(recipe, 0, 10).samples);
}

TEST_CASE("demo: what is written down is the truth with a reader's error") {
  const Recipe recipe = parse_recipe(small_recipe(crank_source), "small");
  std::vector<double> errors;
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    const DemoTake take = synthesise_take(recipe, 0, seed);
    const double mean_rpm =
        60.0 * (take.truth.revolutions_at(4.0_s) - take.truth.revolutions_at(0.0_s)) / 4.0;
    REQUIRE(take.written.size() == 1);
    errors.push_back(take.written[0].speed.value / mean_rpm - 1.0);
  }
  // 40 draws: the standard deviation is known to 11 %, the mean to 0.0005.
  CHECK(standard_deviation(errors) == doctest::Approx(0.003).epsilon(0.4));
  CHECK(std::abs(mean(errors)) < 0.002);
}

TEST_CASE("demo: a log is late by up to a tenth of a second and in quarter revolutions") {
  const Recipe recipe = parse_recipe(small_recipe(crank_source), "small");
  const DemoTake take = synthesise_take(recipe, 4, 3);
  REQUIRE(take.written.size() == 41);
  CHECK(take.written[10].time.value == doctest::Approx(1.0));
  double lag = 0.0;
  for (const SpeedPoint& p : take.written) {
    CHECK(p.speed.value * 4.0 == std::round(p.speed.value * 4.0));
    // The sweep falls by 300 rpm/s.
    lag += (p.speed.value - take.truth.at(p.time).value) / 300.0 / 41.0;
  }
  CHECK(lag > -0.01);
  CHECK(lag < 0.11);
}

TEST_CASE("demo: a tacho channel pulses with the true angle") {
  const Recipe recipe = parse_recipe(small_recipe(crank_source), "small");
  const DemoTake take = synthesise_take(recipe, 3, 3);
  REQUIRE(take.tacho.size() == take.samples.size());
  std::size_t pulses = 0;
  for (std::size_t n = 1; n < take.tacho.size(); ++n)
    if (take.tacho[n - 1] < 0.35F && take.tacho[n] >= 0.35F) ++pulses;
  const double turns = take.truth.revolutions_at(4.0_s) - take.truth.revolutions_at(0.0_s);
  CHECK(static_cast<double>(pulses) == doctest::Approx(2.0 * turns).epsilon(0.01));
}

TEST_CASE("demo: a second microphone hears the same howl, at its own place, and takes without it") {
  std::string text = replaced(small_recipe(crank_source), "speed = \"tacho\"", "howl_db = -9");
  text = replaced(text, "sample_rate = 16000", "sample_rate = 16000\nreference_point = \"far\"");
  text = replaced(text, "load = { pump = \"loaded\", other",
                  "background = true\nload = { pump = \"loaded\", other");
  const Recipe recipe = parse_recipe(text, "small");
  const auto at_reference = [](DemoTake take) {
    take.samples = take.reference;
    return db(amplitude_at_order(take, 11.0));
  };
  const DemoTake near = synthesise_take(recipe, 0, 1);
  CHECK(db(amplitude_at_order(near, 11.0)) == doctest::Approx(-20.0).epsilon(0.002));
  CHECK(at_reference(near) == doctest::Approx(-26.0).epsilon(0.002));
  const DemoTake without = synthesise_take(recipe, 2, 1);
  CHECK(db(amplitude_at_order(without, 11.0)) < -80.0);
  CHECK(at_reference(without) < -80.0);
  const DemoTake weak = synthesise_take(recipe, 3, 1);
  CHECK(db(amplitude_at_order(weak, 11.0)) == doctest::Approx(-29.0).epsilon(0.002));
  CHECK(at_reference(weak) == doctest::Approx(-35.0).epsilon(0.002));

  const ScratchFolder scratch;
  make_demo_case(recipe, scratch.path() / "small");
  const Case stored = load_case(scratch.path() / "small");
  CHECK(stored.takes[0].reference_channel == 2);
  CHECK_FALSE(stored.takes[0].background);
  CHECK(stored.takes[2].background);
  CHECK(error_of(replaced(small_recipe(crank_source), "sample_rate = 16000",
                          "sample_rate = 16000\nreference_point = \"far\""))
            .find("needs the second channel, as a tacho does") != std::string::npos);
  CHECK(error_of(replaced(text, "reference_point = \"far\"", "reference_point = \"fra\""))
            .find("which is no point") != std::string::npos);
}

TEST_CASE("demo: errors in a recipe name its line and key") {
  const std::string good = small_recipe(crank_source);
  CHECK(error_of(replaced(good, "cylinders = 4", "cylinders = 4.5")) ==
        "recipe broken, line 21: 'engine.cylinders' must be whole; write 3, 4, 6 …");
  CHECK(error_of(replaced(good, "seed = 5", "sede = 5")).find("'seed' is missing") !=
        std::string::npos);
  CHECK(error_of(replaced(good, "order = 11", "order = 11\nodrer = 2"))
            .starts_with("recipe broken, line 40: 'sources.odrer' is not a key that is known here; "
                         "known are below_db, "));
  CHECK(error_of(replaced(good, "far = 6", "fra = 6")).find("lacks the point \"far\"") !=
        std::string::npos);
  CHECK(
      error_of(replaced(good, "order = 11", "order = -1")).find("line 39: 'sources.order' is -1") !=
      std::string::npos);
  CHECK(error_of(replaced(good, "[[0, 900], [4, 2100]]", "[[0, 900], [0, 2100]]"))
            .find("'takes.ramp'") != std::string::npos);
  CHECK(error_of(replaced(good, "source = \"tone\"", "source = \"no\"")).find("no source") !=
        std::string::npos);
  CHECK(
      error_of(replaced(good, "order = 11", "order = 11\nblows = { level_db = 0, ring_hz = 9000 }"))
          .find("'sources.blows.ring_hz' is 9000") != std::string::npos);
  CHECK(error_of("title = \"x").find("recipe broken, line 1") == 0);
}

TEST_CASE("demo: a case folder holds the takes and the truth, and is never overwritten") {
  const ScratchFolder scratch;
  const std::filesystem::path folder = scratch.path() / "small";
  const Recipe recipe = parse_recipe(small_recipe(belt_source), "small");
  std::size_t steps = 0;
  make_demo_case(recipe, folder, [&](const std::string&, std::size_t, std::size_t) { ++steps; });
  CHECK(steps == 6);

  const nlohmann::json truth = read_json(folder / "truth.json");
  CHECK(truth["behaviour"] == "speed-locked");
  CHECK(truth["drive"] == "belt");
  CHECK(truth["order_without_slip"] == 12.0);
  CHECK(truth["slip"] == nlohmann::json{0.01, 0.014});
  CHECK(truth["order_with_slip"] == nlohmann::json{11.832, 11.88});
  CHECK(truth["frequency_hz"].is_null());
  CHECK(truth["loudest_point"] == "near");
  CHECK(truth["level_difference_db"]["far"] == -6.0);
  REQUIRE(truth["takes"].size() == 5);
  CHECK(truth["takes"][0]["rpm_mean"].get<double>() == doctest::Approx(1500.0).epsilon(0.01));

  const auto recordings = std::filesystem::directory_iterator(folder / "recordings");
  CHECK(std::distance(begin(recordings), end(recordings)) == 5);
  // Only the case is left: nothing half made beside it.
  const auto beside = std::filesystem::directory_iterator(scratch.path());
  CHECK(std::distance(begin(beside), end(beside)) == 1);

  CHECK_THROWS_AS(make_demo_case(recipe, folder), Error);
}

TEST_CASE("demo: a stored case can be loaded, and its speeds are those written down") {
  const ScratchFolder scratch;
  const std::filesystem::path folder = scratch.path() / "small";
  make_demo_case(parse_recipe(small_recipe(crank_source), "small"), folder);
  const Case stored = load_case(folder);
  CHECK(stored.cylinders == 4);
  CHECK(stored.points.size() == 2);
  REQUIRE(stored.takes.size() == 5);
  CHECK(std::holds_alternative<EnteredSpeed>(stored.takes[0].speed));
  CHECK(stored.takes[2].load.at("pump") == "loaded");
  CHECK(stored.takes[3].channels == 2);
  CHECK(std::get<TachoSpeed>(stored.takes[3].speed).channel == 2);
  CHECK(std::filesystem::exists(folder / std::get<LoggedSpeed>(stored.takes[4].speed).log));
  CHECK(check_case(folder).empty());
}

TEST_CASE("demo: no case is begun where one of the folders exists") {
  const ScratchFolder scratch;
  const std::string name = embedded_recipes().back().name;
  std::filesystem::create_directories(scratch.path() / name);
  CHECK_THROWS_AS(make_demo_cases(scratch.path()), Error);
  const auto inside = std::filesystem::directory_iterator(scratch.path());
  CHECK(std::distance(begin(inside), end(inside)) == 1);
}
