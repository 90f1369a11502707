#include <doctest/doctest.h>

#include <algorithm>

#include "src/document/sections.h"
#include "src/document/text.h"
#include "tests/report/example_analysis.h"

namespace howl::document {
namespace {

Verdict example_verdict() {
  Verdict verdict;
  verdict.about_words = "order 11.00, speed-locked";
  verdict.conclusion = "The howl comes from: transmission pump (95 %).";
  verdict.state = Inquiry::enough;
  // 13.01 − 0.22 = 12.79 dB: odds of 19 to 1, a chance of 95 %.
  verdict.suspects = {{"pump lobes",
                       "transmission pump",
                       0.95,
                       {{"order", "11 lobes would give order 11.00", 13.01},
                        {"before", "how often it is at fault", -0.22}},
                       {{"fluid low", 0.57}, {"pump worn", 0.38}}},
                      {"", "something not in this profile", 0.05, {}, {}}};
  verdict.next_tests = {{"Level of the fluid: Read it hot",
                         "fact:fluid-level",
                         0.5,
                         5.0,
                         "tells low from worn",
                         {"Fluid is hot"}}};
  verdict.repairs = {{"Fill up", "transmission pump", 0.57, 0.5, false, ""}};
  return verdict;
}

struct Example {
  Case value = testing::example_case();
  Profile profile;
  std::vector<WorkshopFact> facts;
  Analysis analysis = testing::example_analysis();
  std::filesystem::path folder{"nowhere"};

  Example() {
    analysis.verdict = example_verdict();
    value.points = {{"transmission pan", "", {}}, {"fan shroud", "", {}}};
  }
  Material material() const {
    return {.folder = folder,
            .value = value,
            .profile = profile,
            .facts = facts,
            .facts_sha256 = {},
            .shops_own_facts = false,
            .analysis = analysis,
            .later = {},
            .earlier = {},
            .request = {}};
  }
};

std::string all_text(const Section& section) {
  std::string text;
  for (const std::string& each : texts_of({.title = {},
                                 .subject = {},
                                 .author = {},
                                 .created = {},
                                 .program = {},
                                 .sections = {section},
                                 .manifest = {}},
                                          true))
    text += each + "\n";
  return text;
}

bool says(const Section& section, const std::string& words) {
  return all_text(section).find(words) != std::string::npos;
}

TEST_CASE("The first page says what became of the howl") {
  const Example example;
  Material material = example.material();
  CHECK_FALSE(says(front_section(material), "Before and after"));
  ComparedCase later;
  later.value.title = "After the repair";
  later.comparison.verdict = "The howl at order 11.00 is gone.";
  later.comparison.howl = ToneChange::gone;
  material.later.push_back(later);
  CHECK(says(front_section(material),
             "Before and after\nAfter the repair: The howl at order 11.00 is gone."));
  CHECK(says(front_section(material), "None for this howl: it is gone."));
  CHECK_FALSE(says(front_section(material), "Repair to begin with"));
}

TEST_CASE("The first page of a case after a repair says what became of the howl before it") {
  Example example;
  Material material = example.material();
  ComparedCase earlier;
  earlier.value.title = "Whine at idle";
  earlier.comparison.verdict = "The howl at order 11.00 is gone.";
  earlier.comparison.howl = ToneChange::gone;
  material.earlier.push_back(earlier);
  CHECK(says(front_section(material), "Against 'Whine at idle': The howl at order 11.00 is gone."));
  CHECK(says(front_section(material), "Test: Level of the fluid"));  // another one howls
  example.analysis.verdict.next_tests.clear();
  example.analysis.verdict.repairs.clear();
  example.analysis.tones.clear();
  CHECK(says(front_section(material), "None: the howl from before the repair is gone."));
  const Section section = earlier_section(material, 0);
  CHECK(section.title == "Before and after");
  CHECK(says(section, "Before\nWhine at idle"));
}

TEST_CASE("The first page says what was found, where, what is open, what next and what can hurt") {
  Example example;
  example.value.about.vehicle = "saloon, 182 000 km";
  const Section front = front_section(example.material());
  CHECK(says(front, "saloon, 182 000 km"));
  CHECK(says(front, "Recorded by\nnot entered"));
  CHECK(says(front,
             "The howl comes from: transmission pump (95 %). The strongest howl (tone1) is "
             "speed-locked"));
  CHECK(says(front, "transmission pan\n-32.1\n-33.0 … -31.2\n0.0\n97 %\nclear"));
  CHECK(says(front, "Probe points without a take: fan shroud."));
  CHECK(says(front, "Test: Level of the fluid (5 min): tells low from worn."));
  CHECK(
      says(front, "Repair to begin with: Fill up (transmission pump; helps with a chance of 57 %"));
  CHECK(says(front, "Fluid is hot"));
  CHECK(says(front, "Keep hands away from belts and fans."));
  CHECK(says(front, "not proof against it"));
}

TEST_CASE("What contradicts itself is told before the finding") {
  Example example;
  example.analysis.verdict.contradictions = {"Two howls fit two parts."};
  const std::string text = all_text(front_section(example.material()));
  CHECK(text.find("Two howls fit two parts.") < text.find("The howl comes from"));
}

TEST_CASE("While the inquiry goes on, no repair is the next step") {
  Example example;
  example.analysis.verdict.state = Inquiry::go_on;
  CHECK_FALSE(says(front_section(example.material()), "Repair to begin with"));
}

TEST_CASE("The weights of a suspect are told in full, with their sum") {
  const Example example;
  const Section suspects = suspects_section(example.material());
  CHECK(says(suspects, "+13.0\n11 lobes would give order 11.00"));
  CHECK(says(suspects, "-0.2\nhow often it is at fault"));
  // 10^1.279 = 19.01
  CHECK(says(suspects, "+12.8\ntogether: odds of 19 to 1, a chance of 95 %"));
  // 0.57 / 0.95 = 60 %, 0.38 / 0.95 = 40 %
  CHECK(says(suspects, "fluid low (60 %), pump worn (40 %)"));
}

TEST_CASE("All names are listed where there is room for them") {
  Example example;
  example.value.points.clear();
  for (int i = 0; i < 9; ++i)
    example.value.points.push_back({"point " + std::to_string(i), "", {}});
  const auto first = [&](std::optional<std::size_t> most) {
    return not_tested(example.material(), most).front();
  };
  CHECK(first(2) == "Probe points without a take: point 0, point 1 and 7 more.");
  CHECK(first({}).ends_with("point 7, point 8."));
}

TEST_CASE("Every row of every table has a cell for each column") {
  const Example example;
  const Material material = example.material();
  std::size_t tables = 0;
  for (const Section& section :
       {front_section(material), suspects_section(material), points_section(material),
        blows_section(material), loads_section(material), workshop_section(material),
        next_section(material), takes_section(material), settings_section(material)})
    for (const Block& block : section.blocks) {
      const auto* table = std::get_if<Table>(&block);
      const auto* figure = std::get_if<Figure>(&block);
      if (figure != nullptr) table = &figure->behind;
      if (table == nullptr) continue;
      ++tables;
      for (const auto& row : table->rows) CHECK(row.size() == table->columns.size());
    }
  CHECK(tables > 8);
}

}  // namespace
}  // namespace howl::document
