#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "src/document/sections.h"
#include "src/percent_text.h"
#include "src/profile/load_tests.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/take_list.h"

namespace howl::document {
namespace {

constexpr std::size_t most_tests = 6;
constexpr std::size_t most_blows = 6;

std::string joined_ids(const std::vector<std::string>& ids) {
  return fmt::format("{}", fmt::join(ids, ", "));
}

std::string test_title(const std::string& key) {
  const LoadTest* const test = find_load_test(key);
  return test == nullptr ? key : test->title;
}

std::string bounds_text(const LoadChange& change) {
  if (change.low_db && change.high_db) return span_text({*change.low_db, *change.high_db}, 1);
  if (change.high_db) return "below " + fixed_text(change.high_db, 1);
  if (change.low_db) return "above " + fixed_text(change.low_db, 1);
  return "-";
}

std::string ratio_percent(const std::optional<LogEstimate>& ratio) {
  if (!ratio) return "-";
  return fmt::format("{:+.2f} ±{:.2f}", 100.0 * (ratio->value - 1.0), 196.0 * ratio->log_sigma);
}

Table loads_table(const Analysis& analysis) {
  Table table;
  table.columns = {{"Load test"},
                   {"At"},
                   {"Takes without"},
                   {"Takes with"},
                   {"Change (dB)", Align::right},
                   {"95 % interval (dB)", Align::right},
                   {"Order changed by (%)", Align::right}};
  for (const LoadChange& change : analysis.load_changes)
    table.rows.push_back({test_title(change.test), joined_ids(change.points),
                          take_list(change.takes_base), take_list(change.takes_loaded),
                          fixed_text(change.change_db, 1), bounds_text(change),
                          ratio_percent(change.order_ratio)});
  table.note =
      "Change of the howl in the suspect band under the load, the noise in the band taken off.";
  return table;
}

std::string fact_question(const Material& material, const WorkshopEvidence& entry) {
  const WorkshopFact* const fact = find_fact(material.facts, entry.key);
  return fact == nullptr ? entry.key : fact->question;
}

std::string fact_meaning(const Material& material, const WorkshopEvidence& entry) {
  const WorkshopFact* const fact = find_fact(material.facts, entry.key);
  if (fact == nullptr) return "not known to this program; counts for nothing";
  const auto says = fact->says.find(entry.value);
  return says == fact->says.end() ? "-" : says->second;
}

std::span<const NextTest> tests_told(const Verdict& verdict) {
  return std::span(verdict.next_tests).first(std::min(most_tests, verdict.next_tests.size()));
}

Table tests_table(const Verdict& verdict) {
  Table table;
  table.caption = "What to test next, most information a minute first";
  table.columns = {{"Test"},
                   {"Information (bit)", Align::right},
                   {"Time (min)", Align::right},
                   {"What it tells"}};
  for (const NextTest& test : tests_told(verdict))
    table.rows.push_back(
        {test.test, fixed_text(test.information_bits, 2), fixed_text(test.minutes, 0), test.why});
  if (const std::size_t rest = verdict.next_tests.size() - table.rows.size(); rest > 0)
    table.note = fmt::format("{} more promise less information a minute.", rest);
  return table;
}

std::vector<std::string> cautions_of_tests(const Verdict& verdict) {
  std::vector<std::string> all;
  std::set<std::string> known;
  for (const NextTest& test : tests_told(verdict))
    for (const std::string& caution : test.cautions)
      if (known.insert(caution).second) all.push_back(caution);
  return all;
}

Table repairs_table(const Verdict& verdict) {
  Table table;
  table.caption = "If it had to be mended now: repairs in the order of least expected cost";
  table.columns = {{"Repair"},
                   {"Of"},
                   {"Helps", Align::right},
                   {"Cost (hours)", Align::right},
                   {"To be proven first"}};
  for (const RepairOption& repair : verdict.repairs)
    table.rows.push_back({repair.repair, repair.component, percent_text(repair.probability),
                          fixed_text(repair.hours, 1),
                          repair.warning.empty() ? "-" : repair.warning});
  table.note = fmt::format("Expected cost of that order: {} hours, parts turned into hours.",
                           fixed_text(verdict.expected_repair_hours, 1));
  return table;
}

}  // namespace

Section blows_section(const Material& material) {
  Section section{.id = "blows", .title = "Blows and swells", .blocks = {}};
  const auto impacts = impacts_worth_telling(material.analysis, most_blows);
  if (impacts.empty()) {
    section.blocks.emplace_back(
        Paragraph{"Nothing strikes or swells but the engine's own cycle, as far as these takes "
                  "show."});
    return section;
  }
  Table table;
  table.columns = {{"Blow"},
                   {"Order", Align::right},
                   {"Found in (Hz)", Align::right},
                   {"Harmonics", Align::right},
                   {"Depth", Align::right},
                   {"Chance of a false alarm", Align::right},
                   {"Takes"}};
  std::vector<std::string> meanings;
  for (const ImpactResult& impact : impacts) {
    table.rows.push_back({impact.id, impact_order_text(impact), span_text(impact.band_hz, 0),
                          std::to_string(impact.harmonics), percent_text(impact.modulation_depth),
                          percent_text(impact.false_alarm_probability), take_list(impact.takes)});
    meanings.push_back(impact.id + ": " + impact.meaning + ". To settle it: " + impact.advice +
                       ".");
  }
  table.note = "Order: blows a turn of the crankshaft, other than the engine's own half orders.";
  section.blocks.emplace_back(std::move(table));
  section.blocks.emplace_back(Bullets{std::move(meanings)});
  return section;
}

Section loads_section(const Material& material) {
  Section section{.id = "loads", .title = "Load tests", .blocks = {}};
  if (material.analysis.load_changes.empty())
    section.blocks.emplace_back(Paragraph{"No load test was done."});
  else
    section.blocks.emplace_back(loads_table(material.analysis));
  return section;
}

Section workshop_section(const Material& material) {
  Section section{.id = "workshop", .title = "What the workshop found", .blocks = {}};
  if (material.value.evidence.empty()) {
    section.blocks.emplace_back(Paragraph{"Nothing was entered."});
    return section;
  }
  Table table;
  table.columns = {{"Looked at"}, {"Found"}, {"What it means"}, {"Note"}, {"Entered (UTC)"}};
  for (const WorkshopEvidence& entry : material.value.evidence)
    table.rows.push_back({fact_question(material, entry), entry.value,
                          fact_meaning(material, entry), entry.note.empty() ? "-" : entry.note,
                          entry.added.empty() ? "-" : entry.added});
  section.blocks.emplace_back(std::move(table));
  if (!material.analysis.verdict.remarks.empty())
    section.blocks.emplace_back(Bullets{material.analysis.verdict.remarks});
  return section;
}

Section next_section(const Material& material) {
  const Verdict& verdict = material.analysis.verdict;
  Section section{.id = "next", .title = "What was not tested, next tests, repairs", .blocks = {}};
  if (auto open = not_tested(material, {}); !open.empty())
    section.blocks.emplace_back(Bullets{std::move(open)});
  if (verdict.next_tests.empty())
    section.blocks.emplace_back(Paragraph{"No test is known that promises to tell more."});
  else
    section.blocks.emplace_back(tests_table(verdict));
  if (auto cautions = cautions_of_tests(verdict); !cautions.empty()) {
    section.blocks.emplace_back(Heading{"Cautions for these tests"});
    section.blocks.emplace_back(Bullets{std::move(cautions), Emphasis::quiet});
  }
  if (!verdict.repairs.empty()) section.blocks.emplace_back(repairs_table(verdict));
  return section;
}

}  // namespace howl::document
