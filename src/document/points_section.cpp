#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <string>
#include <vector>

#include "src/document/figures.h"
#include "src/document/sections.h"
#include "src/percent_text.h"
#include "src/report/finding.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/take_list.h"

namespace howl::document {
namespace {

std::string where_to_touch(const Material& material, const std::string& name) {
  for (const auto* points : {&material.value.points, &material.profile.points}) {
    const auto point = std::ranges::find(*points, name, &ProbePoint::name);
    if (point != points->end() && !point->description.empty()) return point->description;
  }
  return "-";
}

std::string takes_at(const Analysis& analysis, const std::string& point) {
  std::vector<std::string> ids;
  for (const TakeResult& take : analysis.takes)
    if (take.point == point) ids.push_back(take.id);
  return take_list(ids);
}

std::vector<std::string> recorded_points(const Analysis& analysis) {
  std::vector<std::string> names;
  const auto add = [&](const std::string& name) {
    if (std::ranges::find(names, name) == names.end()) names.push_back(name);
  };
  for (const RankedPoint& point : analysis.ranking) add(point.point);
  for (const TakeResult& take : analysis.takes) add(take.point);
  return names;
}

Table points_table(const Material& material) {
  Table table;
  table.caption = "The probe points";
  table.columns = {{"Probe point"}, {"Where it was touched"}, {"Takes"}, {"Ranked by"}};
  for (const std::string& name : recorded_points(material.analysis)) {
    const auto ranked = std::ranges::find(material.analysis.ranking, name, &RankedPoint::point);
    const bool is_ranked = ranked != material.analysis.ranking.end() && !ranked->takes.empty();
    table.rows.push_back({name, where_to_touch(material, name), takes_at(material.analysis, name),
                          is_ranked ? take_list(ranked->takes) : "not ranked"});
  }
  return table;
}

Table ranking_table(const Analysis& analysis) {
  Table table;
  table.caption = fmt::format("Ranking in the suspect band ({})", analysis.level_reference);
  table.columns = {{"Probe point"},
                   {"Level (dB)", Align::right},
                   {"95 % interval (dB)", Align::right},
                   {"Below loudest (dB)", Align::right},
                   {"95 % interval (dB)", Align::right},
                   {"Chance of being loudest", Align::right},
                   {"Difference"}};
  const bool compared = several_measured(analysis);
  for (const RankedPoint& point : analysis.ranking) {
    const bool known = compared && point.level_db.has_value();
    table.rows.push_back(
        {point.point, level_text(point), level_interval(point),
         known ? fixed_text(point.below_loudest_db, 1) : "-",
         known && point.below_loudest_ci95_db ? span_text(*point.below_loudest_ci95_db, 1) : "-",
         known ? percent_text(point.probability_loudest) : "-",
         known ? std::string(call_name(point.call)) : "-"});
  }
  table.note = fmt::format(
      "Difference: {}. Levels of different probe points compare only if microphone, gain and load "
      "were the same.",
      call_legend());
  if (const std::string note = correction_note(analysis); !note.empty())
    table.note += " " + note + ".";
  return table;
}

std::vector<std::string> point_warnings(const Analysis& analysis) {
  std::vector<std::string> all;
  for (const RankedPoint& point : analysis.ranking)
    for (const std::string& warning : point.warnings) all.push_back(point.point + ": " + warning);
  return all;
}

void add_figure(Section& section, std::optional<Figure> figure) {
  if (figure) section.blocks.emplace_back(std::move(*figure));
}

}  // namespace

Section points_section(const Material& material) {
  const Analysis& analysis = material.analysis;
  Section section{.id = "points", .title = "Probe points", .blocks = {}};
  section.blocks.emplace_back(Paragraph{finding_of(analysis).where});
  if (analysis.suspect_band)
    section.blocks.emplace_back(
        Paragraph{fmt::format("Suspect band: {}, {}.", band_text(analysis.suspect_band->band),
                              chosen_text(*analysis.suspect_band))});
  if (!analysis.takes.empty()) section.blocks.emplace_back(points_table(material));
  if (analysis.ranking.empty()) return section;
  section.blocks.emplace_back(ranking_table(analysis));
  if (auto warnings = point_warnings(analysis); !warnings.empty())
    section.blocks.emplace_back(Bullets{std::move(warnings), Emphasis::warning});
  add_figure(section, figure_of(material, PictureKind::ranking));
  add_figure(section, figure_of(material, PictureKind::sketch));
  return section;
}

}  // namespace howl::document
