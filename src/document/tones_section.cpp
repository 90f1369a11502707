#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "src/document/clips.h"
#include "src/document/figures.h"
#include "src/document/sections.h"
#include "src/percent_text.h"
#include "src/report/family_words.h"
#include "src/report/finding.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/take_list.h"
#include "src/report/warning_words.h"

namespace howl::document {
namespace {

constexpr std::size_t most_accounts = 8;

Table tones_table(const Analysis& analysis) {
  Table table;
  table.caption = fmt::format("All tones ({})", analysis.level_reference);
  table.columns = {
      {"Tone"},  {"Order", Align::right},      {"Frequency (Hz)", Align::right},  {"Behaviour"},
      {"Drive"}, {"Level (dB)", Align::right}, {"Over noise (dB)", Align::right}, {"Takes"},
      {"Remark"}};
  for (const ToneResult& tone : analysis.tones)
    table.rows.push_back({tone.id, order_text(tone), span_text(tone.frequency_hz, 0),
                          std::string(behaviour_name(tone.behaviour)), drive_text(tone),
                          fixed_text(tone.level_db, 1), fixed_text(tone.tone_to_noise_db, 0),
                          take_list(tone.takes), remark_text(tone)});
  table.note =
      "Order: cycles a turn of the crankshaft. Level: where the tone is loudest. Over noise: above "
      "the noise in the critical band around it. Prominent: by the criterion of ECMA-418-1. A "
      "letter names the family of tones. Firing: an order of the engine's own combustion.";
  return table;
}

std::string laws_text(const ToneResult& tone) {
  std::vector<FittedLaw> laws = tone.laws;
  std::ranges::stable_sort(laws, std::greater{}, &FittedLaw::weight);
  std::string text;
  constexpr double least_weight = 0.005;
  for (const FittedLaw& law : laws)
    if (law.weight >= least_weight)
      text += fmt::format("{}{} {}", text.empty() ? "" : ", ", law_words(law.name),
                          percent_text(law.weight));
  return text;
}

std::string exponent_text(const ToneResult& tone) {
  if (!tone.pitch_exponent) return "not known";
  std::string text = fixed_text(tone.pitch_exponent, 2);
  if (tone.pitch_exponent_ci95)
    text += fmt::format(" ({}); 1: follows the engine, 0: keeps its pitch",
                        span_text(*tone.pitch_exponent_ci95, 2));
  return text;
}

Facts account_of(const ToneResult& tone) {
  Facts facts;
  const auto say = [&](const char* label, std::string text) {
    if (!text.empty()) facts.items.emplace_back(label, std::move(text));
  };
  say("Behaviour", behaviour_text(tone));
  if (tone.order)
    say("Order",
        fixed_text(tone.order, 3) +
            (tone.order_ci95 ? fmt::format(" (95 % interval {})", span_text(*tone.order_ci95, 3))
                             : ""));
  say("Pitch",
      fmt::format("{} Hz at {} rpm", span_text(tone.frequency_hz, 1), span_text(tone.rpm_span, 0)));
  say("Exponent", exponent_text(tone));
  say("Laws", laws_text(tone));
  say("Level",
      fmt::format(
          "{} dB{}, {} dB over the noise around it{}", fixed_text(tone.level_db, 1),
          tone.level_bounds_db ? fmt::format(" ({} dB)", span_text(*tone.level_bounds_db, 1)) : "",
          fixed_text(tone.tone_to_noise_db, 0), tone.prominent ? ", prominent" : ""));
  say("Takes", take_list(tone.takes));
  say("Remark", tone.remark);
  say("To settle it", tone.advice);
  return facts;
}

std::string account_heading(const ToneResult& tone) {
  if (tone.order) return fmt::format("{}: order {}", tone.id, fixed_text(tone.order, 2));
  return fmt::format("{}: {} Hz", tone.id, span_text(tone.frequency_hz, 0));
}

/// What a person would ask about: howls, not lines of a howl that is told already.
std::vector<const ToneResult*> tones_with_account(const Analysis& analysis) {
  std::vector<const ToneResult*> told;
  for (const ToneResult& tone : analysis.tones)
    if (!tone.combustion && !told_with_family(tone, analysis) && told.size() < most_accounts)
      told.push_back(&tone);
  return told;
}

std::vector<std::string> family_items(const Analysis& analysis) {
  std::vector<std::string> items;
  for (const FamilyResult& family : analysis.families)
    items.push_back(fmt::format("{}: {}", family.id, family_words(family, analysis)));
  return items;
}

/// Warnings of the takes that each tone was found in stand with the tone.
void add_account(Section& section, const ToneResult& tone, const Analysis& analysis) {
  section.blocks.emplace_back(Heading{account_heading(tone)});
  section.blocks.emplace_back(account_of(tone));
  if (auto warnings = warnings_of_takes(analysis, tone.takes); !warnings.empty())
    section.blocks.emplace_back(Bullets{std::move(warnings), Emphasis::warning});
}

void add_pictures(Section& section, const Material& material, const Progress& progress) {
  constexpr std::array<PictureKind, 4> kinds{PictureKind::pitch, PictureKind::orders,
                                             PictureKind::spectrogram, PictureKind::spectrum};
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    progress(static_cast<double>(i) / kinds.size(), "drawing");
    if (auto figure = figure_of(material, kinds[i]))
      section.blocks.emplace_back(std::move(*figure));
  }
}

}  // namespace

Section tones_section(const Material& material, bool with_clips, const Progress& progress) {
  const Analysis& analysis = material.analysis;
  Section section{.id = "tones", .title = "Tones, and how their pitch behaves", .blocks = {}};
  section.blocks.emplace_back(Paragraph{finding_of(analysis).what});
  if (analysis.takes.empty()) return section;
  if (analysis.tones.empty()) {
    add_pictures(section, material, progress);
    return section;
  }
  if (with_clips)
    for (Clip& clip : clips_of(material, progress)) section.blocks.emplace_back(std::move(clip));
  section.blocks.emplace_back(tones_table(analysis));
  if (auto families = family_items(analysis); !families.empty())
    section.blocks.emplace_back(Bullets{std::move(families)});
  add_pictures(section, material, progress);
  for (const ToneResult* tone : tones_with_account(analysis)) add_account(section, *tone, analysis);
  return section;
}

}  // namespace howl::document
