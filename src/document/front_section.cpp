#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>
#include <string>
#include <vector>

#include "src/case/about.h"
#include "src/document/figures.h"
#include "src/document/sections.h"
#include "src/percent_text.h"
#include "src/report/finding.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"

namespace howl::document {
namespace {

constexpr std::size_t most_points_in_front = 6;
constexpr std::size_t most_names_in_front = 4;

/// Its absence is told, so that nobody takes it for granted.
bool is_asked_for(const AboutField& field) {
  return field.value == &CaseAbout::vehicle || field.value == &CaseAbout::recorded_by ||
         field.value == &CaseAbout::recorded_on;
}

std::size_t points_recorded(const Analysis& analysis) {
  std::set<std::string> points;
  for (const TakeResult& take : analysis.takes) points.insert(take.point);
  return points.size();
}

std::string counted(std::size_t count, const std::string& one, const std::string& more) {
  return fmt::format("{} {}", count, count == 1 ? one : more);
}

/// The days on which takes were added, as the case has them.
std::string days_of(const Case& value) {
  std::vector<std::string> days;
  for (const Take& take : value.takes)
    if (!take.added.empty()) days.push_back(take.added.substr(0, 10));
  if (days.empty()) return {};
  const auto [first, last] = std::ranges::minmax_element(days);
  return *first == *last ? ", added " + *first : fmt::format(", added {} to {}", *first, *last);
}

Facts about_facts(const Material& material) {
  Facts facts;
  for (const AboutField& field : about_fields) {
    const std::string& entered = material.value.about.*field.value;
    if (!entered.empty() || is_asked_for(field))
      facts.items.emplace_back(field.label, entered.empty() ? "not entered" : entered);
  }
  facts.items.emplace_back(
      "Layout", material.profile.title.empty() ? material.value.profile : material.profile.title);
  facts.items.emplace_back(
      "Recordings",
      fmt::format("{} at {}{}", counted(material.analysis.takes.size(), "take", "takes"),
                  counted(points_recorded(material.analysis), "probe point", "probe points"),
                  days_of(material.value)));
  return facts;
}

void add_finding(Section& section, const Analysis& analysis) {
  section.blocks.emplace_back(Heading{"Finding"});
  if (!analysis.verdict.contradictions.empty())
    section.blocks.emplace_back(Bullets{analysis.verdict.contradictions, Emphasis::warning});
  const Finding finding = finding_of(analysis);
  const std::string& conclusion = analysis.verdict.conclusion;
  section.blocks.emplace_back(Paragraph{
      conclusion.empty() ? finding.what : conclusion + " " + finding.what, Emphasis::strong});
  for (const std::string& sentence : analysis.verdict.whatever_howls)
    section.blocks.emplace_back(Paragraph{sentence});
}

/// What a repair, or anything since, has changed.
void add_compared(Section& section, const Material& material) {
  if (material.later.empty() && material.earlier.empty()) return;
  section.blocks.emplace_back(Heading{"Before and after"});
  for (const ComparedCase& later : material.later)
    section.blocks.emplace_back(
        Paragraph{fmt::format("{}: {}", later.value.title, later.comparison.verdict)});
  for (const ComparedCase& earlier : material.earlier)
    section.blocks.emplace_back(Paragraph{
        fmt::format("Against '{}': {}", earlier.value.title, earlier.comparison.verdict)});
}

Table front_ranking(const Analysis& analysis) {
  Table table{.caption = "",
              .columns = {{"Probe point"},
                          {"Level (dB)", Align::right},
                          {"95 % interval (dB)", Align::right},
                          {"Below loudest (dB)", Align::right},
                          {"Chance of being loudest", Align::right},
                          {"Difference"}},
              .rows = {},
              .note = {}};
  const bool compared = several_measured(analysis);
  for (const RankedPoint& point : analysis.ranking) {
    if (table.rows.size() == most_points_in_front) break;
    const bool known = compared && point.level_db.has_value();
    table.rows.push_back({point.point, level_text(point), level_interval(point),
                          known ? fixed_text(point.below_loudest_db, 1) : "-",
                          known ? percent_text(point.probability_loudest) : "-",
                          known ? std::string(call_name(point.call)) : "-"});
  }
  const std::size_t rest = analysis.ranking.size() - table.rows.size();
  table.note =
      analysis.level_reference +
      "; difference: how surely the loudest is louder than the next, the others softer than it";
  if (rest > 0) table.note += fmt::format("; {} more under Probe points", rest);
  return table;
}

void add_where(Section& section, const Material& material) {
  section.blocks.emplace_back(Heading{"Where it is loudest"});
  section.blocks.emplace_back(Paragraph{finding_of(material.analysis).where});
  if (!material.analysis.ranking.empty())
    section.blocks.emplace_back(front_ranking(material.analysis));
  if (auto figure = front_figure(material)) section.blocks.emplace_back(std::move(*figure));
}

/// What to do is told with the other tests, under which its cautions stand too.
std::string test_words(const NextTest& test) {
  const std::string name = test.test.substr(0, test.test.find(": "));
  return fmt::format("{} ({:.0f} min): {}.", name, test.minutes, test.why);
}

std::string repair_words(const RepairOption& repair) {
  return fmt::format("{} ({}; helps with a chance of {}).", repair.repair, repair.component,
                     percent_text(repair.probability));
}

std::vector<std::string> next_steps(const Verdict& verdict) {
  std::vector<std::string> steps;
  const NextTest* const test = verdict.next_tests.empty() ? nullptr : &verdict.next_tests.front();
  if (test != nullptr) steps.push_back("Test: " + test_words(*test));
  if (verdict.state != Inquiry::go_on && !verdict.repairs.empty())
    steps.push_back("Repair to begin with: " + repair_words(verdict.repairs.front()));
  return steps;
}

std::vector<std::string> recording_advice(const Analysis& analysis) {
  const ToneResult* const howl = strongest_howl(analysis);
  if (howl == nullptr || howl->advice.empty()) return {};
  return {"Record: " + howl->advice + "."};
}

/// The last case that was recorded counts.
bool is_gone_since(const Material& material) {
  return !material.later.empty() && material.later.back().comparison.howl == ToneChange::gone;
}

bool is_gone_from_before(const Material& material) {
  return !material.earlier.empty() && material.earlier.back().comparison.howl == ToneChange::gone;
}

void add_next(Section& section, const Material& material) {
  const Analysis& analysis = material.analysis;
  std::vector<std::string> steps = next_steps(analysis.verdict);
  if (is_gone_since(material))
    steps = {
        "None for this howl: it is gone. What was planned before is under What was not tested."};
  if (analysis.takes.empty())
    steps = {"Record the probe points, one after another, at one engine speed and load."};
  if (steps.empty()) steps = recording_advice(analysis);
  if (steps.empty() && is_gone_from_before(material))
    steps = {"None: the howl from before the repair is gone."};
  if (steps.empty()) steps.emplace_back("Nothing that is known here promises to tell more.");
  section.blocks.emplace_back(Heading{"Next step"});
  section.blocks.emplace_back(Bullets{std::move(steps)});
}

std::vector<std::string> front_cautions(const Analysis& analysis) {
  std::vector<std::string> cautions;
  if (!analysis.verdict.next_tests.empty()) cautions = analysis.verdict.next_tests.front().cautions;
  for (const std::string& caution : analysis.cautions)
    if (std::ranges::find(cautions, caution) == cautions.end()) cautions.push_back(caution);
  cautions.emplace_back("A finding is a reason to inspect a part, not proof against it.");
  return cautions;
}

}  // namespace

Section front_section(const Material& material) {
  Section section{.id = "finding", .title = "", .blocks = {}};
  section.blocks.emplace_back(about_facts(material));
  add_finding(section, material.analysis);
  add_compared(section, material);
  add_where(section, material);
  if (std::vector<std::string> open = not_tested(material, most_names_in_front); !open.empty()) {
    section.blocks.emplace_back(Heading{"Not tested"});
    section.blocks.emplace_back(Bullets{std::move(open)});
  }
  add_next(section, material);
  section.blocks.emplace_back(Heading{"Cautions"});
  section.blocks.emplace_back(Bullets{front_cautions(material.analysis), Emphasis::quiet});
  return section;
}

}  // namespace howl::document
