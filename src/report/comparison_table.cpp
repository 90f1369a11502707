#include "src/report/comparison_table.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "src/report/comparison_words.h"
#include "src/report/number_text.h"
#include "src/report/text_columns.h"
#include "src/report/text_page.h"

namespace howl {
namespace {

using Align = TextColumns::Align;

constexpr std::size_t most_compared_howls = 8;
constexpr std::size_t most_compared_firing_orders = 3;

/// Of which there is nothing to tell: faint, and nothing could be measured.
bool says_nothing(const ComparedTone& tone) {
  return !tone.measured && !tone.prominent_before && !tone.prominent_after;
}

std::vector<const ComparedTone*> shown_tones(const Comparison& comparison) {
  std::vector<const ComparedTone*> shown;
  std::size_t howls = 0;
  std::size_t firing = 0;
  for (const ComparedTone& tone : comparison.tones) {
    if (says_nothing(tone)) continue;
    if (tone.combustion ? firing++ < most_compared_firing_orders : howls++ < most_compared_howls)
      shown.push_back(&tone);
  }
  return shown;
}

/// "5 gone, 12 unchanged"
std::string counts(const std::vector<const ComparedTone*>& tones) {
  std::vector<std::string> parts;
  for (const ToneChange change :
       {ToneChange::appeared, ToneChange::louder, ToneChange::gone, ToneChange::weaker,
        ToneChange::unchanged, ToneChange::undetermined}) {
    const auto count = std::ranges::count(tones, change, &ComparedTone::change);
    if (count > 0) parts.push_back(fmt::format("{} {}", count, change_name(change)));
  }
  return fmt::format("{}", fmt::join(parts, ", "));
}

std::string tones_section(const Comparison& comparison) {
  if (comparison.tones.empty()) return {};
  const auto shown = shown_tones(comparison);
  TextColumns table({{.heading = "tone", .widest = 22},
                     {.heading = "before", .align = Align::right},
                     {.heading = "after", .align = Align::right},
                     {.heading = "change", .align = Align::right},
                     {.heading = "to the rest", .align = Align::right},
                     {.heading = "T/N", .align = Align::right},
                     {.heading = ""}});
  std::vector<const ComparedTone*> rest;
  for (const ComparedTone& tone : comparison.tones)
    if (std::ranges::find(shown, &tone) == shown.end()) rest.push_back(&tone);
  for (const ComparedTone* tone : shown) table.add(tone_row(*tone));
  std::string text = heading(fmt::format("Tones ({})", comparison.level_reference)) + table.text();
  if (!rest.empty())
    text +=
        paragraph(fmt::format("and {} weaker: {}; --json shows all", rest.size(), counts(rest)));
  return text +
         paragraph(
             "change: dB, with 95 %; to the rest: the same relative to the rest of the spectrum, "
             "which the hand's pressure does not move; T/N: dB above the noise around it before / "
             "after, * prominent");
}

std::string band_section(const Comparison& comparison) {
  if (!comparison.band || !comparison.band->measured) return {};
  const ComparedBand& band = *comparison.band;
  const MeasuredChange& m = *band.measured;
  return heading("Suspect band") +
         paragraph(fmt::format("{}, {}: {} dB before, {} dB after; change {} dB: {}",
                               band_text(band.band),
                               band.chosen_by_user ? "chosen by you" : "from the case before",
                               compared_level_text(m.before_db, m.before_below_db),
                               compared_level_text(m.after_db, m.after_below_db),
                               change_text(m.change_db, m.ci95_db), change_name(band.change)));
}

std::string places_section(const Comparison& comparison) {
  if (comparison.places.empty()) return {};
  TextColumns table({{.heading = "point", .widest = 22},
                     {.heading = "at", .widest = 26},
                     {.heading = "before", .widest = 10},
                     {.heading = "after", .widest = 10},
                     {.heading = "rest", .align = Align::right},
                     {.heading = "firing", .align = Align::right},
                     {.heading = ""}});
  for (const ComparedPlace& place : comparison.places)
    table.add({place.point, place.condition, fmt::format("{}", fmt::join(place.takes_before, " ")),
               fmt::format("{}", fmt::join(place.takes_after, " ")),
               signed_text(place.rest_change_db), signed_text(place.firing_change_db),
               place.doubts.empty() ? "" : "(!)"});
  return heading("Places compared") + table.text() +
         paragraph(
             "rest, firing: change in dB of the noise between the tones and of the engine's "
             "firing orders");
}

std::string lone_section(const Comparison& comparison) {
  std::string text;
  const auto add = [&](const char* side, const std::vector<LoneTakes>& all) {
    for (const LoneTakes& lone : all)
      text += paragraph(fmt::format("only {}: {}, {} ({})", side, lone.point, lone.condition,
                                    fmt::join(lone.takes, " ")));
  };
  add("before", comparison.only_before);
  add("after", comparison.only_after);
  return text.empty() ? text : heading("Takes without a partner, not compared") + text;
}

std::string why_section(const Comparison& comparison) {
  std::string text;
  for (const std::string& reason : reasons_undetermined(shown_tones(comparison)))
    text += paragraph(reason);
  return text.empty() ? text : heading("Undetermined, because") + text;
}

std::string warnings_section(const Comparison& comparison) {
  std::string text;
  for (const std::string& warning : comparison.warnings) text += paragraph(warning);
  for (const ComparedPlace& place : comparison.places)
    for (const std::string& doubt : place.doubts)
      text += paragraph(fmt::format("{}, {}: {}", place.point, place.condition, doubt));
  return text.empty() ? text : heading("Warnings (!)") + text;
}

std::string advice_section(const Comparison& comparison) {
  std::string text;
  for (const std::string& advice : comparison.record_next) text += paragraph(advice);
  return text.empty() ? text : heading("What to record next") + text;
}

}  // namespace

std::string comparison_table(const Case& before, const Case& after, const Comparison& comparison) {
  return wrapped("Before: " + before.title, 0, page_width) +
         wrapped("After:  " + after.title, 0, page_width) + "\n" +
         wrapped(comparison.verdict, 0, page_width) + tones_section(comparison) +
         band_section(comparison) + places_section(comparison) + lone_section(comparison) +
         why_section(comparison) + warnings_section(comparison) + advice_section(comparison);
}

}  // namespace howl
