#include "src/report/analysis_table.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <limits>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include "src/report/finding.h"
#include "src/report/text_columns.h"
#include "tests/report/example_analysis.h"

namespace howl {
namespace {

using testing::example_analysis;
using testing::example_case;

std::vector<std::string> lines_of(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

TEST_CASE("The table answers the question in its first lines") {
  const auto lines = lines_of(analysis_table(example_case(), example_analysis()));
  REQUIRE(lines.size() > 5);
  CHECK(lines[0] == "Whine from 1500 rpm");
  CHECK(lines[2].starts_with("Loudest in the band orders 10.80 … 11.20: transmission pan"));
  CHECK(std::ranges::any_of(lines, [](const std::string& line) {
    return line.starts_with("The strongest howl (tone1) is speed-locked");
  }));
}

TEST_CASE("The table holds all that the analysis found") {
  const std::string text = analysis_table(example_case(), example_analysis());
  for (const auto* part :
       {"transmission pan  -32.1  -33.0 … -31.2", "11.00 ±0.02", "147 … 458", "undetermined",
        "firing", "orders 10.80 … 11.20, chosen by the program", "t02: clipped in 3 places",
        "alternator: no take at this speed", "The speeds of two takes differ.",
        "Keep hands away from belts and fans."}) {
    CAPTURE(part);
    CHECK(holds(text, part));
  }
}

TEST_CASE("A level that only its background bounds is shown as at most that") {
  Analysis analysis = example_analysis();
  RankedPoint& next = analysis.ranking[1];
  next.upper_bound = true;
  next.ci95_db = Interval{-std::numeric_limits<double>::infinity(), -37.0};
  next.probability_loudest.reset();
  const std::string text = analysis_table(example_case(), analysis);
  CHECK(holds(text, "≤ -38.4    below -37.0"));
  CHECK(holds(finding_of(analysis).where, "at least 6.3 dB above the next"));
  analysis.ranking[0].upper_bound = true;
  CHECK(holds(finding_of(analysis).where, "none is 3 dB louder than its background"));
}

TEST_CASE("The table says where levels are corrected, and which takes are background") {
  Analysis analysis = example_analysis();
  analysis.takes[0].reference = ReferenceResult{-40.0, 1.5, 0.9, std::nullopt};
  analysis.takes[1].reference = ReferenceResult{-38.0, -2.5, 0.9, std::nullopt};
  analysis.takes[1].background = true;
  const std::string text = analysis_table(example_case(), analysis);
  CHECK(holds(text, "levels corrected by -2.5 … 1.5 dB"));
  CHECK(holds(text, "entered  background"));
}

TEST_CASE("Advice is given for what howls: prominent tones, and the strongest in any case") {
  Analysis analysis = example_analysis();
  const std::string advice = "tone2: record the same point at 1000 rpm";
  CHECK(!holds(analysis_table(example_case(), analysis), advice));
  analysis.tones[1].prominent = true;
  CHECK(holds(analysis_table(example_case(), analysis), advice));
  analysis.tones[1].prominent = false;
  analysis.tones.erase(analysis.tones.begin());
  CHECK(holds(analysis_table(example_case(), analysis), advice));
}

TEST_CASE("A point without a level gets no number and no call") {
  const auto lines = lines_of(analysis_table(example_case(), example_analysis()));
  const auto row = std::ranges::find_if(
      lines, [](const std::string& line) { return line.starts_with("  alternator "); });
  REQUIRE(row != lines.end());
  CHECK(row->find_first_of("0123456789") == std::string::npos);
  CHECK(!holds(*row, "no difference"));
}

TEST_CASE("A point that nothing is compared with gets its level, but no chance and no call") {
  Analysis analysis = example_analysis();
  analysis.ranking.resize(1);
  CHECK(holds(analysis_table(example_case(), analysis),
              "transmission pan  -32.1  -33.0 … -31.2      -       -  -\n"));
}

TEST_CASE("The table fits a page, with long names and long loads") {
  Analysis analysis = example_analysis();
  analysis.takes[0].point = analysis.ranking[0].point =
      "upper bracket of the steering pump behind the idler pulley";
  analysis.takes[0].load = {{"steering", "left stop"}, {"ac", "on"}, {"headlamps", "main beam"}};
  for (const std::string& line : lines_of(analysis_table(example_case(), analysis))) {
    CAPTURE(line);
    CHECK(display_width(line) <= 90);
  }
}

std::size_t count(const std::vector<std::string>& lines, const std::string& part) {
  return static_cast<std::size_t>(
      std::ranges::count_if(lines, [&](const std::string& line) { return holds(line, part); }));
}

TEST_CASE("Of many tones the table shows the first, and says how many there are besides") {
  Analysis analysis = example_analysis();
  ToneResult undetermined = analysis.tones[1];
  undetermined.prominent = true;
  const ToneResult firing = analysis.tones[2];
  analysis.tones.resize(1);
  for (int i = 2; i <= 13; ++i) {
    analysis.tones.push_back(undetermined);
    analysis.tones.back().id = "tone" + std::to_string(i);
    analysis.tones.back().advice = "heard at " + std::to_string(100 * i) + " rpm only";
  }
  for (int i = 14; i <= 18; ++i) analysis.tones.push_back(firing);
  const auto lines = lines_of(analysis_table(example_case(), analysis));
  CHECK(count(lines, "undetermined") == 9);  // ten howls, of which one is locked
  CHECK(count(lines, "firing") == 3);
  CHECK(count(lines, "and 5 weaker tones: --json shows all") == 1);
  // What differs in its numbers only is said once.
  CHECK(count(lines, "tone2: heard at 200 rpm only. Likewise tone3, tone4") == 1);
  CHECK(count(lines, "rpm only") == 1);
}

TEST_CASE(
    "Blows are told with order, harmonics and what would settle them, and only where there are "
    "any") {
  Analysis analysis = example_analysis();
  const auto lines = lines_of(analysis_table(example_case(), analysis));
  CHECK(count(lines, "impact1  13.76 ±0.08  3500 … 4500") == 1);
  CHECK(count(lines, "something strikes 13.76 times a crank turn") == 1);
  CHECK(count(lines, "To settle it") == 1);
  analysis.impacts.clear();
  CHECK(!holds(analysis_table(example_case(), analysis), "Blows"));
}

TEST_CASE("Control characters in names do not reach the terminal") {
  Analysis analysis = example_analysis();
  analysis.takes[0].point = "pan\x1b[31m";
  Case value = example_case();
  value.title = "red \x1b[31m";
  CHECK(!holds(analysis_table(value, analysis), "\x1b"));
}

}  // namespace
}  // namespace howl
