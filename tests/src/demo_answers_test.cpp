#include <doctest/doctest.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "src/demo/demo_cases.h"
#include "src/demo/recipe.h"
#include "src/reasoning/diagnose.h"
#include "src/reasoning/reason.h"
#include "src/report/verdict_table.h"
#include "tests/src/scratch_folder.h"

// The built-in cases from end to end: recipe, audio files, case folder, analysis, suspects. The
// answer must be that of the truth file, which the synthesiser wrote and the analysis never reads.

using namespace howl;

namespace {

nlohmann::json truth_of(const std::filesystem::path& folder) {
  return nlohmann::json::parse(test::content_of(folder / "truth.json"));
}

/// The part at fault leads, and nobody is called guilty who is not.
void check_suspect(const Verdict& verdict, const std::string& at_fault) {
  REQUIRE(!verdict.suspects.empty());
  CAPTURE(verdict.conclusion);
  const std::string suspect = parts_by_chance(verdict).front().component;
  // A profile cannot know which of a vehicle's brackets rings.
  const bool some_bracket = suspect == "bracket, shield or panel" && at_fault.ends_with("bracket");
  CHECK_MESSAGE((suspect == at_fault || some_bracket), suspect, " instead of ", at_fault);
}

Analysis check_answer(const std::string& recipe_name) {
  CAPTURE(recipe_name);
  const test::ScratchFolder scratch;
  for (const Recipe& recipe : embedded_recipes())
    if (recipe.name == recipe_name) make_demo_case(recipe, scratch / recipe_name, {});
  const std::filesystem::path folder = scratch / recipe_name;
  const nlohmann::json truth = truth_of(folder);
  Analysis analysis = diagnose(folder, load_case(folder), {}, [](double, std::string_view) {});

  REQUIRE(!analysis.tones.empty());
  const ToneResult& tone = analysis.tones.front();
  CHECK(behaviour_name(tone.behaviour) == truth["behaviour"].get<std::string>());
  if (!truth["drive"].is_null() && tone.drive != Drive::unknown)
    CHECK(drive_name(tone.drive) == truth["drive"].get<std::string>());
  if (!truth["order_with_slip"].is_null()) {
    CHECK(tone.order_ci95->low < truth["order_with_slip"][1].get<double>());
    CHECK(tone.order_ci95->high > truth["order_with_slip"][0].get<double>());
  } else if (!truth["order_without_slip"].is_null()) {
    CHECK(tone.order_ci95->contains(truth["order_without_slip"].get<double>()));
  }
  if (truth["behaviour"] == "fixed-pitch") {
    CHECK(tone.frequency_hz.low < 1.01 * truth["frequency_hz"].get<double>());
    CHECK(tone.frequency_hz.high > 0.99 * truth["frequency_hz"].get<double>());
  }
  REQUIRE(!analysis.ranking.empty());
  CHECK(analysis.ranking.front().point == truth["loudest_point"].get<std::string>());
  check_suspect(analysis.verdict, truth["component"].get<std::string>());
  return analysis;
}

/// The lines of a block that begins after `heading`.
std::string readme_block(const std::string& heading) {
  const auto tree = std::filesystem::path(__FILE__).parent_path().parent_path().parent_path();
  const std::string readme = test::content_of(tree / "README.md");
  const std::string fence = "```\n";
  const std::size_t from = readme.find(fence, readme.find(heading)) + fence.size();
  return readme.substr(from, readme.find(fence, from) - from);
}

}  // namespace

TEST_CASE("demo answer: steering pump short of fluid") { check_answer("steering-pump-low-fluid"); }
TEST_CASE("demo answer: transmission pump, as the README explains it") {
  const Analysis analysis = check_answer("transmission-pump");
  const std::string explained = readme_block("Take this finding of the demo case");
  const std::string found = verdict_section(analysis.verdict);
  CAPTURE(explained);
  CAPTURE(found);
  CHECK(found.find(explained) != std::string::npos);
}
TEST_CASE("demo answer: alternator bearing") { check_answer("alternator-bearing"); }
TEST_CASE("demo answer: compressor that works now more, now less") {
  check_answer("compressor-drift");
}
TEST_CASE("demo answer: bracket resonance") { check_answer("bracket-resonance"); }
TEST_CASE("demo answer: electric fan") { check_answer("electric-fan"); }
TEST_CASE("demo answer: final drive") { check_answer("final-drive"); }
