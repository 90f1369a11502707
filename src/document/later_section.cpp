#include <fmt/format.h>
#include <fmt/ranges.h>

#include <string>
#include <utility>
#include <vector>

#include "src/document/sections.h"
#include "src/report/comparison_words.h"
#include "src/report/number_text.h"
#include "src/report/take_list.h"

namespace howl::document {
namespace {

Table compared_tones(const Comparison& comparison) {
  Table table;
  table.caption = fmt::format("Tones before and after ({})", comparison.level_reference);
  table.columns = {{"Tone"},
                   {"Before (dB)", Align::right},
                   {"After (dB)", Align::right},
                   {"Change (dB)", Align::right},
                   {"Relative to the rest (dB)", Align::right},
                   {"Over noise (dB)", Align::right},
                   {"What became of it"}};
  for (const ComparedTone& tone : comparison.tones) table.rows.push_back(tone_row(tone));
  table.note =
      "In brackets the 95 % interval; < and >: no more, no less than. Relative to the rest of the "
      "spectrum, which the hand's pressure does not move. Over noise: before / after, * prominent.";
  return table;
}

Table compared_points(const Comparison& comparison) {
  Table table;
  table.caption = "Places compared";
  table.columns = {{"Probe point"},
                   {"At"},
                   {"Takes before"},
                   {"Takes after"},
                   {"Rest changed by (dB)", Align::right},
                   {"Firing changed by (dB)", Align::right},
                   {"Doubts"}};
  for (const ComparedPlace& place : comparison.places)
    table.rows.push_back(
        {place.point, place.condition, take_list(place.takes_before), take_list(place.takes_after),
         signed_text(place.rest_change_db), signed_text(place.firing_change_db),
         place.doubts.empty() ? "-" : fmt::format("{}", fmt::join(place.doubts, "; "))});
  return table;
}

std::string band_change(const ComparedBand& band) {
  const MeasuredChange& m = *band.measured;
  return fmt::format("Suspect band {}: {} dB before, {} dB after; change {} dB: {}.",
                     band_text(band.band), compared_level_text(m.before_db, m.before_below_db),
                     compared_level_text(m.after_db, m.after_below_db),
                     change_text(m.change_db, m.ci95_db), change_name(band.change));
}

std::vector<std::string> lone_takes(const Comparison& comparison) {
  std::vector<std::string> items;
  const auto add = [&](const char* side, const std::vector<LoneTakes>& all) {
    for (const LoneTakes& lone : all)
      items.push_back(fmt::format("Only {}: {}, {} ({})", side, lone.point, lone.condition,
                                  take_list(lone.takes)));
  };
  add("before", comparison.only_before);
  add("after", comparison.only_after);
  return items;
}

std::vector<std::string> why_undetermined(const Comparison& comparison) {
  std::vector<const ComparedTone*> tones;
  for (const ComparedTone& tone : comparison.tones) tones.push_back(&tone);
  return reasons_undetermined(tones);
}

void add_items(Section& section, std::vector<std::string> items, Emphasis emphasis) {
  if (!items.empty()) section.blocks.emplace_back(Bullets{std::move(items), emphasis});
}

Section compared_section(std::string id, std::string title, const Case& before, const Case& after,
                         const Comparison& comparison) {
  Section section{.id = std::move(id), .title = std::move(title), .blocks = {}};
  section.blocks.emplace_back(Facts{{{"Before", before.title}, {"After", after.title}}});
  section.blocks.emplace_back(Paragraph{comparison.verdict, Emphasis::strong});
  add_items(section, comparison.warnings, Emphasis::warning);
  if (!comparison.tones.empty()) section.blocks.emplace_back(compared_tones(comparison));
  if (comparison.band && comparison.band->measured)
    section.blocks.emplace_back(Paragraph{band_change(*comparison.band)});
  add_items(section, why_undetermined(comparison), Emphasis::plain);
  if (!comparison.places.empty()) section.blocks.emplace_back(compared_points(comparison));
  add_items(section, lone_takes(comparison), Emphasis::plain);
  if (!comparison.record_next.empty()) section.blocks.emplace_back(Heading{"What to record next"});
  add_items(section, comparison.record_next, Emphasis::plain);
  return section;
}

std::string title_of(const Material& material, std::size_t number) {
  return material.later.size() + material.earlier.size() == 1
             ? "Before and after"
             : fmt::format("Before and after: {}", number + 1);
}

}  // namespace

Section later_section(const Material& material, std::size_t number) {
  const ComparedCase& later = material.later[number];
  return compared_section(fmt::format("after-{}", number + 1), title_of(material, number),
                          material.value, later.value, later.comparison);
}

Section earlier_section(const Material& material, std::size_t number) {
  const ComparedCase& earlier = material.earlier[number];
  return compared_section(fmt::format("before-{}", number + 1),
                          title_of(material, material.later.size() + number), earlier.value,
                          material.value, earlier.comparison);
}

}  // namespace howl::document
