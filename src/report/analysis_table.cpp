#include "src/report/analysis_table.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "src/percent_text.h"
#include "src/report/family_words.h"
#include "src/report/finding.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/text_columns.h"
#include "src/report/text_page.h"
#include "src/report/verdict_table.h"
#include "src/report/warning_words.h"

namespace howl {
namespace {

using Align = TextColumns::Align;

constexpr std::size_t most_howls = 10;
constexpr std::size_t most_firing_orders = 3;
constexpr std::size_t most_impacts = 3;

std::string head(const Case& value, const Analysis& analysis) {
  const Finding finding = finding_of(analysis);
  std::string text = wrapped(value.title, 0, page_width) + "\n" +
                     wrapped(finding.where, 0, page_width) + wrapped(finding.what, 0, page_width) +
                     wrapped(analysis.verdict.conclusion, 0, page_width);
  for (const std::string& sentence : analysis.verdict.whatever_howls)
    text += wrapped(sentence, 0, page_width);
  return text;
}

std::string takes_section(const Analysis& analysis) {
  if (analysis.takes.empty()) return {};
  TextColumns table({{.heading = "take"},
                     {.heading = "point", .widest = 20},
                     {.heading = "rpm", .align = Align::right},
                     {.heading = "from"},
                     {.heading = "load", .widest = 24},
                     {.heading = "s", .align = Align::right},
                     {.heading = ""}});
  for (const TakeResult& take : analysis.takes)
    table.add({take.id, take.point, span_text({take.rpm_min, take.rpm_max}, 0), take.speed_source,
               load_text(take), fixed_text(take.seconds, 1),
               take.warnings.empty() && warning_texts(take.quality).empty() ? "" : "(!)"});
  return heading("Takes") + table.text();
}

/// The first few of each kind, in the order of the analysis: a page that a person reads.
std::vector<const ToneResult*> shown_tones(const Analysis& analysis) {
  std::vector<const ToneResult*> shown;
  std::size_t howls = 0;
  std::size_t firing = 0;
  for (const ToneResult& tone : analysis.tones) {
    if (told_with_family(tone, analysis)) continue;
    if (tone.combustion ? firing++ < most_firing_orders : howls++ < most_howls)
      shown.push_back(&tone);
  }
  return shown;
}

std::string families_text(const Analysis& analysis) {
  std::string text;
  for (const FamilyResult& family : analysis.families)
    text += paragraph(fmt::format("{}: {}", family.id, family_words(family, analysis)));
  return text;
}

std::string not_shown(const Analysis& analysis, std::size_t shown) {
  const auto told = static_cast<std::size_t>(std::ranges::count_if(
      analysis.tones, [&](const ToneResult& tone) { return told_with_family(tone, analysis); }));
  const std::size_t rest = analysis.tones.size() - told - shown;
  if (rest == 0) return {};
  return paragraph(
      fmt::format("and {} weaker {}: --json shows all", rest, rest == 1 ? "tone" : "tones"));
}

std::string tones_section(const Analysis& analysis) {
  if (analysis.tones.empty()) return {};
  const auto shown = shown_tones(analysis);
  TextColumns table({{.heading = "tone"},
                     {.heading = "order", .align = Align::right},
                     {.heading = "Hz", .align = Align::right},
                     {.heading = "behaviour"},
                     {.heading = "drive"},
                     {.heading = "dB", .align = Align::right},
                     {.heading = "T/N", .align = Align::right},
                     {.heading = ""}});
  for (const ToneResult* tone : shown)
    table.add({tone->id, order_text(*tone), span_text(tone->frequency_hz, 0),
               std::string(behaviour_name(tone->behaviour)), drive_text(*tone),
               fixed_text(tone->level_db, 1), fixed_text(tone->tone_to_noise_db, 0),
               remark_text(*tone)});
  return heading(fmt::format("Tones ({}; T/N: dB above the noise around it)",
                             analysis.level_reference)) +
         table.text() + families_text(analysis) + not_shown(analysis, shown.size());
}

std::string impacts_section(const Analysis& analysis) {
  const std::vector<ImpactResult> shown = impacts_worth_telling(analysis, most_impacts);
  if (shown.empty()) return {};
  TextColumns table({{.heading = "impact"},
                     {.heading = "order", .align = Align::right},
                     {.heading = "in Hz"},
                     {.heading = "harmonics", .align = Align::right},
                     {.heading = "depth", .align = Align::right},
                     {.heading = "takes", .widest = 20}});
  for (const ImpactResult& impact : shown)
    table.add({impact.id, impact_order_text(impact), span_text(impact.band_hz, 0),
               std::to_string(impact.harmonics), percent_text(impact.modulation_depth),
               fmt::format("{}", fmt::join(impact.takes, ", "))});
  const ImpactResult& first = shown.front();
  return heading("Blows and swells that are not the engine's own cycle") + table.text() +
         paragraph(first.id + ": " + first.meaning + ". To settle it: " + first.advice + ".");
}

std::string band_section(const Analysis& analysis) {
  if (!analysis.suspect_band) return {};
  const SuspectBand& suspect = *analysis.suspect_band;
  return heading("Suspect band") + paragraph(band_text(suspect.band) + ", " + chosen_text(suspect));
}

std::vector<std::string> ranking_row(const RankedPoint& point, bool compared) {
  const std::string mark = point.warnings.empty() ? "" : "(!)";
  if (!point.level_db) return {point.point, "-", "-", "-", "-", "-", mark};
  return {point.point,
          level_text(point),
          level_interval(point),
          compared ? fixed_text(point.below_loudest_db, 1) : "-",
          compared ? percent_text(point.probability_loudest) : "-",
          compared ? std::string(call_name(point.call)) : "-",
          mark};
}

std::string correction_paragraph(const Analysis& analysis) {
  const std::string note = correction_note(analysis);
  return note.empty() ? note : paragraph(note);
}

std::string ranking_section(const Analysis& analysis) {
  if (analysis.ranking.empty()) return {};
  TextColumns table({{.heading = "point", .widest = 20},
                     {.heading = "dB", .align = Align::right},
                     {.heading = "95 %", .align = Align::right},
                     {.heading = "below", .align = Align::right},
                     {.heading = "chance", .align = Align::right},
                     {.heading = "call"},
                     {.heading = ""}});
  const bool compared = several_measured(analysis);
  for (const RankedPoint& point : analysis.ranking) table.add(ranking_row(point, compared));
  return heading(fmt::format("Ranking in the suspect band ({})", analysis.level_reference)) +
         table.text() +
         paragraph(fmt::format("below: dB below the loudest; chance: of being the loudest; call: "
                               "how sure that difference is, for the loudest its lead: {}",
                               call_legend())) +
         correction_paragraph(analysis);
}

std::string warnings_section(const Analysis& analysis) {
  std::string text;
  for (const std::string& warning : warnings_of_case(analysis)) text += paragraph(warning);
  for (const std::string& warning : warnings_of_takes(analysis)) text += paragraph(warning);
  for (const std::string& warning : warnings_of_points(analysis)) text += paragraph(warning);
  return text.empty() ? text : heading("Warnings (!)") + text;
}

std::string sayings_section(const std::string& title, const std::vector<Saying>& all) {
  std::string text;
  for (const Saying& saying : all) text += paragraph(saying_text(saying));
  return text.empty() ? text : heading(title) + text;
}

std::string remarks_section(const Analysis& analysis) {
  return sayings_section("Remarks", sayings(shown_tones(analysis), &ToneResult::remark));
}

/// More recordings are worth their minutes for what howls; the advice on weak tones is in the JSON.
std::string advice_section(const Analysis& analysis) {
  std::vector<const ToneResult*> tones = shown_tones(analysis);
  const ToneResult* const strongest = strongest_howl(analysis);
  std::erase_if(tones,
                [&](const ToneResult* tone) { return !tone->prominent && tone != strongest; });
  return sayings_section("What to record next", sayings(tones, &ToneResult::advice));
}

std::string cautions_section(const Analysis& analysis) {
  std::string text;
  for (const std::string& caution : analysis.cautions) text += paragraph(caution);
  return text.empty() ? text : heading("Cautions") + text;
}

}  // namespace

std::string analysis_table(const Case& value, const Analysis& analysis) {
  return head(value, analysis) + verdict_section(analysis.verdict) + ranking_section(analysis) +
         band_section(analysis) + tones_section(analysis) + remarks_section(analysis) +
         impacts_section(analysis) + takes_section(analysis) + warnings_section(analysis) +
         advice_section(analysis) + cautions_section(analysis);
}

}  // namespace howl
