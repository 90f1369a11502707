#include "src/report/analysis_table.h"

#include <fmt/format.h>

#include <string>
#include <vector>

#include "src/report/finding.h"
#include "src/report/number_text.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

using Align = TextColumns::Align;

constexpr std::size_t page_width = 96;
constexpr std::size_t indent = 2;

std::string heading(const std::string& text) { return "\n" + text + "\n"; }
std::string paragraph(const std::string& text) { return wrapped(text, indent, page_width); }

std::string load_text(const LoadState& load) {
  std::string text;
  for (const auto& [key, value] : load) text += (text.empty() ? "" : ", ") + key + "=" + value;
  return text.empty() ? "-" : text;
}

std::string head(const Case& value, const Analysis& analysis) {
  const Finding finding = finding_of(analysis);
  return wrapped(value.title, 0, page_width) + "\n" + wrapped(finding.where, 0, page_width) +
         wrapped(finding.what, 0, page_width);
}

std::string takes_section(const Analysis& analysis) {
  TextColumns table({{.heading = "take"},
                     {.heading = "point", .widest = 26},
                     {.heading = "rpm", .align = Align::right},
                     {.heading = "from"},
                     {.heading = "load", .widest = 26},
                     {.heading = "s", .align = Align::right},
                     {.heading = ""}});
  for (const TakeResult& take : analysis.takes)
    table.add({take.id, take.point, span_text({take.rpm_min, take.rpm_max}, 0), take.speed_source,
               load_text(take.load), fixed_text(take.seconds, 1),
               take.warnings.empty() ? "" : "(!)"});
  return heading("Takes") + table.text();
}

std::string order_text(const ToneResult& tone) {
  if (!tone.order) return "-";
  if (!tone.order_ci95) return fixed_text(tone.order, 2);
  return fmt::format("{} ({})", fixed_text(tone.order, 2), span_text(*tone.order_ci95, 2));
}

std::string drive_text(const ToneResult& tone) {
  return tone.behaviour == Behaviour::speed_locked ? std::string(drive_name(tone.drive)) : "-";
}

std::string remark(const ToneResult& tone) {
  if (tone.combustion) return "engine firing";
  return tone.prominent ? "prominent" : "";
}

std::string tones_section(const Analysis& analysis) {
  if (analysis.tones.empty()) return {};
  TextColumns table({{.heading = "tone"},
                     {.heading = "order (95 %)", .align = Align::right},
                     {.heading = "Hz", .align = Align::right},
                     {.heading = "behaviour"},
                     {.heading = "drive"},
                     {.heading = "dB", .align = Align::right},
                     {.heading = "T/N dB", .align = Align::right},
                     {.heading = ""}});
  for (const ToneResult& tone : analysis.tones)
    table.add({tone.id, order_text(tone), span_text(tone.frequency_hz, 0),
               std::string(behaviour_name(tone.behaviour)), drive_text(tone),
               fixed_text(tone.level_db, 1), fixed_text(tone.tone_to_noise_db, 1), remark(tone)});
  return heading(fmt::format("Tones ({}; T/N is the tone above the noise around it)",
                             analysis.level_reference)) +
         table.text();
}

std::string chosen_text(const SuspectBand& suspect) {
  if (suspect.chosen_by_user) return "chosen by you";
  return suspect.why.empty() ? "chosen by the program" : "chosen by the program: " + suspect.why;
}

std::string band_section(const Analysis& analysis) {
  if (!analysis.suspect_band) return {};
  const SuspectBand& suspect = *analysis.suspect_band;
  return heading("Suspect band") + paragraph(band_text(suspect.band) + ", " + chosen_text(suspect));
}

std::string level_interval(const RankedPoint& point) {
  return point.ci95_db ? span_text(*point.ci95_db, 1) : "-";
}

std::vector<std::string> ranking_row(const RankedPoint& point) {
  const std::string mark = point.warnings.empty() ? "" : "(!)";
  if (!point.level_db) return {point.point, "-", "-", "-", "-", "-", mark};
  return {point.point,
          fixed_text(point.level_db, 1),
          level_interval(point),
          fixed_text(point.below_loudest_db, 1),
          percent_text(point.probability_loudest),
          std::string(call_name(point.call)),
          mark};
}

std::string ranking_section(const Analysis& analysis) {
  if (analysis.ranking.empty()) return {};
  TextColumns table({{.heading = "point", .widest = 30},
                     {.heading = "dB", .align = Align::right},
                     {.heading = "95 %", .align = Align::right},
                     {.heading = "below loudest", .align = Align::right},
                     {.heading = "chance", .align = Align::right},
                     {.heading = "call"},
                     {.heading = ""}});
  for (const RankedPoint& point : analysis.ranking) table.add(ranking_row(point));
  return heading(fmt::format("Ranking in the suspect band ({}; chance of being the loudest)",
                             analysis.level_reference)) +
         table.text();
}

std::string warnings_section(const Analysis& analysis) {
  std::string text;
  for (const std::string& warning : analysis.warnings) text += paragraph(warning);
  for (const TakeResult& take : analysis.takes)
    for (const std::string& warning : take.warnings) text += paragraph(take.id + ": " + warning);
  for (const RankedPoint& point : analysis.ranking)
    for (const std::string& warning : point.warnings)
      text += paragraph(point.point + ": " + warning);
  return text.empty() ? text : heading("Warnings (!)") + text;
}

std::string remarks_section(const Analysis& analysis) {
  std::string text;
  for (const ToneResult& tone : analysis.tones)
    if (!tone.remark.empty()) text += paragraph(tone.id + ": " + tone.remark);
  return text.empty() ? text : heading("Remarks") + text;
}

std::string advice_section(const Analysis& analysis) {
  std::string text;
  for (const ToneResult& tone : analysis.tones)
    if (!tone.advice.empty()) text += paragraph(tone.id + ": " + tone.advice);
  return text.empty() ? text : heading("What to record next") + text;
}

std::string cautions_section(const Analysis& analysis) {
  std::string text;
  for (const std::string& caution : analysis.cautions) text += paragraph(caution);
  return text.empty() ? text : heading("Cautions") + text;
}

}  // namespace

std::string analysis_table(const Case& value, const Analysis& analysis) {
  return head(value, analysis) + ranking_section(analysis) + band_section(analysis) +
         tones_section(analysis) + remarks_section(analysis) + takes_section(analysis) +
         warnings_section(analysis) + advice_section(analysis) + cautions_section(analysis);
}

}  // namespace howl
