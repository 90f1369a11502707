#include <fmt/format.h>

#include <cmath>
#include <string>

#include "src/document/figures.h"
#include "src/document/sections.h"
#include "src/percent_text.h"
#include "src/report/suspect_words.h"

namespace howl::document {
namespace {

constexpr std::size_t least_suspects = 1;
constexpr std::size_t most_suspects_told = 6;

std::string weight_words(double weight_db) { return fmt::format("{:+.1f}", weight_db); }

/// All weights, which add up to the odds, and what these are as a chance.
Table evidence_table(const Suspect& suspect) {
  Table table;
  table.columns = {{"Weight (dB)", Align::right}, {"Evidence"}};
  double sum = 0.0;
  for (const EvidenceItem& item : suspect.evidence) {
    table.rows.push_back({weight_words(item.weight_db), item.text});
    sum += item.weight_db;
  }
  const double odds = std::pow(10.0, 0.1 * sum);
  table.rows.push_back(
      {weight_words(sum), fmt::format("together: odds of {:.2g} to 1, a chance of {}", odds,
                                      percent_text(suspect.probability))});
  return table;
}

std::string causes_words(const Suspect& suspect) {
  std::string text;
  for (const Suspect::Cause& cause : suspect.causes)
    text += fmt::format("{}{} ({})", text.empty() ? "" : ", ", cause.id,
                        percent_text(cause.probability / suspect.probability));
  return "If it is this part, the cause is, in falling chance: " + text + ".";
}

void add_suspect(Section& section, const Suspect& suspect) {
  section.blocks.emplace_back(
      Heading{fmt::format("{}: {}", suspect_name(suspect), percent_text(suspect.probability))});
  if (!suspect.evidence.empty()) section.blocks.emplace_back(evidence_table(suspect));
  if (suspect.causes.size() > 1) section.blocks.emplace_back(Paragraph{causes_words(suspect)});
}

/// The others in one line each would say little; their sum does.
std::string rest_words(const Verdict& verdict, std::size_t told) {
  double rest = 0.0;
  for (std::size_t i = told; i < verdict.suspects.size(); ++i)
    rest += verdict.suspects[i].probability;
  return fmt::format("{} other sources together: {}.", verdict.suspects.size() - told,
                     percent_text(rest));
}

}  // namespace

Section suspects_section(const Material& material) {
  const Verdict& verdict = material.analysis.verdict;
  Section section{.id = "suspects", .title = "Suspects, and the evidence", .blocks = {}};
  if (verdict.suspects.empty()) {
    section.blocks.emplace_back(Paragraph{
        verdict.conclusion.empty()
            ? "Nobody is suspected: nothing howls, or the layout names no source that could."
            : verdict.conclusion});
    return section;
  }
  section.blocks.emplace_back(
      Paragraph{"Judged is this howl: " + verdict.about_words + ". " + verdict.conclusion});
  if (!verdict.contradictions.empty())
    section.blocks.emplace_back(Bullets{verdict.contradictions, Emphasis::warning});
  if (auto figure = figure_of(material, PictureKind::suspects))
    section.blocks.emplace_back(std::move(*figure));
  section.blocks.emplace_back(Paragraph{
      "A weight is 10 lg of the likelihood ratio: how many times likelier what was found is under "
      "this suspect than under all others together. +10 dB: ten times; +3 dB: twice; a minus sign "
      "speaks against it. The weights of a suspect add up to its odds.",
      Emphasis::quiet});
  const auto told = suspects_worth_naming(verdict, least_suspects, most_suspects_told);
  for (const Suspect& suspect : told) add_suspect(section, suspect);
  if (told.size() < verdict.suspects.size())
    section.blocks.emplace_back(Paragraph{rest_words(verdict, told.size()), Emphasis::quiet});
  return section;
}

}  // namespace howl::document
