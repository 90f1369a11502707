#include "src/report/analysis_json.h"

#include <doctest/doctest.h>

#include <limits>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "tests/report/example_analysis.h"

namespace howl {
namespace {

using nlohmann::json;
using testing::example_analysis;
using testing::example_case;

json document_of(const Analysis& analysis) {
  return json::parse(analysis_json(example_case(), analysis));
}

void check_fields(const json& object, const std::vector<std::string>& names) {
  for (const std::string& name : names) {
    CAPTURE(name);
    CHECK(object.contains(name));
  }
}

TEST_CASE("JSON of an analysis holds every field that other programs rely on") {
  const json document = document_of(example_analysis());
  CHECK(document["schema"] == "howlpoint.analysis/1");
  check_fields(document, {"takes", "tones", "suspect_band", "ranking", "suspects", "next_tests",
                          "warnings", "cautions"});
  for (const json& take : document["takes"]) {
    check_fields(take, {"id", "point", "load", "speed", "warnings"});
    check_fields(take["speed"],
                 {"source", "rpm_min", "rpm_max", "rpm_from_sound", "disagreement_percent"});
  }
  for (const json& tone : document["tones"])
    check_fields(tone, {"id", "order", "order_ci95", "frequency_hz", "behaviour", "drive",
                        "pitch_exponent", "pitch_exponent_ci95", "rpm_span", "level_db",
                        "tone_to_noise_db", "prominent", "family", "takes"});
  check_fields(document["suspect_band"], {"unit", "low", "high", "chosen_by"});
  for (const json& point : document["ranking"])
    check_fields(point, {"point", "level_db", "level_reference", "ci95_db", "probability_loudest",
                         "call", "takes", "warnings"});
}

TEST_CASE("JSON of an analysis holds its values, in its order") {
  const json document = document_of(example_analysis());
  const json& tone = document["tones"][0];
  CHECK(tone["order"] == 11.0);
  CHECK(tone["order_ci95"] == json::array({10.98, 11.02}));
  CHECK(tone["behaviour"] == "speed-locked");
  CHECK(tone["drive"] == "direct");
  CHECK(document["takes"][0]["load"]["ac"] == "off");
  CHECK(document["suspect_band"]["unit"] == "order");
  CHECK(document["suspect_band"]["chosen_by"] == "tool");
  CHECK(document["ranking"][0]["point"] == "transmission pan");
  CHECK(document["ranking"][1]["point"] == "steering pump");
  CHECK(document["ranking"][0]["call"] == "clear");
  CHECK(document["ranking"][0]["level_reference"] == "dB re full-scale sine");
}

TEST_CASE("JSON tells of the reference microphone, of background takes and of upper bounds") {
  Analysis analysis = example_analysis();
  analysis.takes[0].reference = ReferenceResult{-40.0, 1.5, 0.9, std::nullopt};
  analysis.takes[1].background = true;
  analysis.ranking[0].coherent_level_db = -32.5;
  analysis.ranking[1].upper_bound = true;
  analysis.ranking[1].ci95_db = Interval{-std::numeric_limits<double>::infinity(), -37.0};
  const json document = document_of(analysis);
  CHECK(
      document["takes"][0]["reference"] ==
      json{{"level_db", -40.0}, {"correction_db", 1.5}, {"coherence", 0.9}, {"delay_s", nullptr}});
  CHECK(document["takes"][1]["reference"].is_null());
  CHECK(document["takes"][0]["background"] == false);
  CHECK(document["takes"][1]["background"] == true);
  CHECK(document["ranking"][0]["coherent_level_db"] == -32.5);
  CHECK(document["ranking"][0]["upper_bound"] == false);
  CHECK(document["ranking"][1]["upper_bound"] == true);
  CHECK(document["ranking"][1]["coherent_level_db"].is_null());
  CHECK(document["ranking"][1]["ci95_db"] == json::array({nullptr, -37.0}));
}

TEST_CASE("JSON of an analysis holds its impacts") {
  const json impact = document_of(example_analysis())["impacts"][0];
  check_fields(
      impact, {"id", "takes", "band_hz", "spectral_kurtosis", "order", "order_ci95", "frequency_hz",
               "rpm_span", "harmonics", "sideband_order", "modulation_depth",
               "false_alarm_probability", "tone", "meaning", "advice"});
  CHECK(impact["order"] == 13.76);
  CHECK(impact["order_ci95"] == json::array({13.68, 13.84}));
  CHECK(impact["harmonics"] == 3);
  CHECK(impact["sideband_order"].is_null());
  CHECK(impact["tone"].is_null());
  CHECK(document_of(Analysis{})["impacts"].empty());
}

TEST_CASE("What is not known is null in JSON") {
  const json document = document_of(example_analysis());
  const json& undetermined = document["tones"][1];
  for (const auto* name :
       {"order", "order_ci95", "drive", "pitch_exponent", "pitch_exponent_ci95", "family"}) {
    CAPTURE(name);
    CHECK(undetermined[name].is_null());
  }
  const json& unmeasured = document["ranking"][2];
  for (const auto* name :
       {"level_db", "ci95_db", "below_loudest_db", "probability_loudest", "call"}) {
    CAPTURE(name);
    CHECK(unmeasured[name].is_null());
  }
  CHECK(document["takes"][0]["speed"]["rpm_from_sound"].is_null());
  CHECK(document_of(Analysis{})["suspect_band"].is_null());
}

TEST_CASE("A number that is not finite never reaches JSON as a number") {
  Analysis analysis = example_analysis();
  analysis.tones[0].level_db = -std::numeric_limits<double>::infinity();
  analysis.tones[0].order_ci95 = Interval{std::numeric_limits<double>::quiet_NaN(), 11.0};
  const json tone = document_of(analysis)["tones"][0];
  CHECK(tone["level_db"].is_null());
  CHECK(tone["order_ci95"][0].is_null());
  CHECK(tone["order_ci95"][1] == 11.0);
}

TEST_CASE("Text that is not UTF-8 still makes valid JSON") {
  Analysis analysis = example_analysis();
  analysis.warnings = {"broken \xff byte", "sound \xc3\xb6l"};
  const json document = document_of(analysis);
  CHECK(document["warnings"][0] == "broken \xef\xbf\xbd byte");
  CHECK(document["warnings"][1] == "sound \xc3\xb6l");
}

}  // namespace
}  // namespace howl
