#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "src/report/analysis_table.h"
#include "src/report/comparison_table.h"
#include "src/report/comparison_words.h"
#include "src/report/warning_words.h"

using namespace howl;

namespace {

ComparedTone open_tone(double order, const std::string& why) {
  ComparedTone tone;
  tone.order = order;
  tone.why = why;
  tone.prominent_before = true;
  return tone;
}

std::size_t times_in(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
  return count;
}

}  // namespace

TEST_CASE("a reason that several compared tones share is said once, with all of them") {
  Comparison c;
  c.tones = {open_tone(11.0, "pan, 1800 rpm: no speed"), open_tone(8.25, "too faint"),
             open_tone(22.0, "pan, 1800 rpm: no speed"), open_tone(4.0, "pan, 1800 rpm: no speed")};
  c.tones.back().prominent_before = false;  // nobody heard it stand out
  std::vector<const ComparedTone*> tones;
  for (const ComparedTone& tone : c.tones) tones.push_back(&tone);
  CHECK(reasons_undetermined(tones) ==
        std::vector<std::string>{"order 11.00, order 22.00: pan, 1800 rpm: no speed",
                                 "order 8.25: too faint"});
  CHECK(times_in(comparison_table({}, {}, c), "no speed") == 1);
}

TEST_CASE("a warning that the verdict tells as what does not fit is said once") {
  Analysis analysis;
  analysis.cylinder_doubt = "It sounds as if it had 6 cylinders";
  analysis.warnings = {analysis.cylinder_doubt, "the case has one point"};
  // Where nothing was suspected the verdict tells nothing, and the warning stays.
  CHECK(warnings_of_case(analysis) == analysis.warnings);
  CHECK(times_in(analysis_table({}, analysis), analysis.cylinder_doubt) == 1);
  analysis.verdict.suspects.emplace_back();
  analysis.verdict.contradictions = {analysis.cylinder_doubt};
  CHECK(warnings_of_case(analysis) == std::vector<std::string>{"the case has one point"});
  CHECK(times_in(analysis_table({}, analysis), analysis.cylinder_doubt) == 1);
}
